"""Started by MicroPython at boot. Ctrl-C ends it and leaves the prompt."""

from hingeline_firmware import app

app.run()
