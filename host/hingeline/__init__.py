"""Set up the control surfaces of model aircraft with angle sensors you build yourself."""
