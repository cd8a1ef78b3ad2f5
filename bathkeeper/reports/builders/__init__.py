"""One file for each report: what a workshop knows at a moment, put into the pieces of a report. No I/O, no clock."""
