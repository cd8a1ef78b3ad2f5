"""The outside truth: simulated workshops whose hidden state is known, so that a claimed interval can be checked against it.

Nothing here imports the program's own estimate, chemistry or catalogue: the physics is written a second time, with small
explicit steps in time, so that a mistake in one is not repeated in the other. The numbers of the hidden workshops are invented.
"""
