"""Published launch tables: ball speed mph, launch deg, spin rpm, apex yd, landing deg, carry yd.

TrackMan tour averages, older edition (three transcriptions agree), not normalised for weather or
site. The engine launches clubs from the men's table, and goes from there towards the women's as
the ball gets slower. Its drag and lift were fitted to the men's carries alone; the women's are held
out of that, as is the edition in tests/published/launch_tables.py.
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

WOMEN = {
    "driver": (140, 13.2, 2611, 25, 37, 218),
    "3-wood": (132, 11.2, 2704, 23, 39, 195),
    "5-wood": (128, 12.1, 4501, 26, 43, 185),
    "7-wood": (123, 12.7, 4693, 25, 46, 174),
    "4-iron": (116, 14.3, 4801, 24, 43, 169),
    "5-iron": (112, 14.8, 5081, 23, 45, 161),
    "6-iron": (109, 17.1, 5943, 25, 46, 152),
    "7-iron": (104, 19.0, 6699, 26, 47, 141),
    "8-iron": (100, 20.8, 7494, 25, 47, 130),
    "9-iron": (93, 23.9, 7589, 26, 47, 119),
    "pitching wedge": (86, 25.6, 8403, 23, 48, 107),
}
