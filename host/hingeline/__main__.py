from hingeline.cli import main

main()
