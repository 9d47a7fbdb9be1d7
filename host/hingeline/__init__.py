"""Set up the control surfaces of model aircraft with angle sensors you build yourself."""

__version__ = "0.1.0"
