"""What a board starts at boot. Ctrl-C ends it and leaves the prompt."""

from hingeline_firmware import app

app.run()
