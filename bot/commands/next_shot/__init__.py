"""/next: what to play from where the ball lies."""
