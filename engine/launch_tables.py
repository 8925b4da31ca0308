"""Published launch tables: ball speed mph, launch deg, spin rpm, apex yd, landing deg, carry yd.

TrackMan tour averages, older men's edition (three transcriptions agree), not normalised for
weather or site. The engine launches clubs from this table and its drag and lift were fitted to
its carries; the held-out tables stand in tests/published/launch_tables.py.
"""

MEN = {
    "driver": (167, 10.9, 2686, 32, 38, 275),
    "3-wood": (158, 9.2, 3655, 30, 43, 243),
    "5-wood": (152, 9.4, 4350, 31, 47, 230),
    "hybrid": (146, 10.2, 4437, 29, 47, 225),
    "3-iron": (142, 10.4, 4630, 27, 46, 212),
    "4-iron": (137, 11.0, 4836, 28, 48, 203),
    "5-iron": (132, 12.1, 5361, 31, 49, 194),
    "6-iron": (127, 14.1, 6231, 30, 50, 183),
    "7-iron": (120, 16.3, 7097, 32, 50, 172),
    "8-iron": (115, 18.1, 7998, 31, 50, 160),
    "9-iron": (109, 20.4, 8647, 30, 51, 148),
    "pitching wedge": (102, 24.2, 9304, 29, 52, 136),
}
