"""The app, driven by keyboard and mouse at 80x24 and 120x40."""
