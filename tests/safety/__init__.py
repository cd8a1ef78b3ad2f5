"""Safety: bakes, hazards, meetings, threads, and the data behind them."""
