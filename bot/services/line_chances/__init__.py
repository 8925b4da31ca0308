"""The computed chances of lines: what would become of them before anybody has tried."""
