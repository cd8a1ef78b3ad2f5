"""A logger's file as it is: what its bytes, columns, units and clocks mean, and what its samples come to. No file is opened here."""
