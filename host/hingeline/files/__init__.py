"""How is a file read and written: an ordinary file, whole or not at all, whoever else is about?"""
