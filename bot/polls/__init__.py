"""Polls on the lines of a hole or on a coach's question: opened, watched, closed, told."""
