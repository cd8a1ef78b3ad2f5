"""``python -m bathkeeper`` is ``bathkeeper``."""

from bathkeeper.cli import main

if __name__ == "__main__":
    main()
