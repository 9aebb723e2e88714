"""What goes in and out of Threebus as files."""
