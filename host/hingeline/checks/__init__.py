"""What is measured on an aircraft: each check takes rests and returns frozen results; commands pace and print them."""
