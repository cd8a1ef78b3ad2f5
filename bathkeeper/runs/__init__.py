"""A load of parts on its way through the line: areas, the parts known here, current and time, the live run, its history."""
