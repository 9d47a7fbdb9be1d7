"""The files a board runs under MicroPython. The host reads them as data and never imports them."""
