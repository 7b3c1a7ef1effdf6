"""What to mind on the day of the shoot: shutters under mains light, hearing, what to do before the roll."""
