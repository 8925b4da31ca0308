"""The next shot from where the ball lies: what is asked, and the member's ways to play it."""
