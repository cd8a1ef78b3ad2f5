"""The use cases of advice: plans, stock, forecast, causes, what is due as a calendar."""
