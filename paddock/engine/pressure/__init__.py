"""What to set next: limits, signs, the ordered rules, the hold gate, the car's own learned response, the cold plan."""
