"""What follows from a run and the rules together: motor starts, volts at the far end."""
