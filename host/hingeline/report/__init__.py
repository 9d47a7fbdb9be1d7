"""What a recorded visit comes to, on paper: read, drawn, compared with an earlier one."""
