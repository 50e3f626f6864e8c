"""Campaign: goals, nights, weather, allocation, odds, last call, tonight's plan."""
