"""Old spreadsheets become entries: a mapping says what the columns are, the quick form understands the cells.

``heads`` finds the headings, ``guess`` proposes a mapping, ``asking`` asks what the sheet cannot tell, ``making`` turns rows
into entries, ``taking`` is the use case that the command line and the screen share.
"""
