"""The outside truth: simulated workshops whose hidden state is known, so that a claimed interval can be checked against it.

No simulated bath imports the program's own estimate or chemistry: the physics is written a second time, with small explicit
steps in time, so that a mistake in one is not repeated in the other. The zinc-nickel bath and the line around it
(``electrolyte.py``, ``line.py``) know no recipe either; the bath of any recipe (``plating.py``, ``half_year.py``) reads the
catalogue's structure and how wide its priors are. The numbers of the hidden workshops are invented.
"""
