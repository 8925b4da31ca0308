"""Which line of a hole is best, said alike wherever it is said."""
