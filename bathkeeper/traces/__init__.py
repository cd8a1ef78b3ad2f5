"""A logger's file as it is: what its bytes, columns, units and clocks mean, what its samples come to. Opens no file."""
