"""The one door from what people type to fixed units, and back. ``door`` alone knows pint; ``numerals`` is cheap to load."""
