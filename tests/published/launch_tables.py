"""The launch table of 2023, held out of the fit like the older women's in the engine.

Rows: ball speed mph, launch deg, spin rpm, apex yd, landing deg, carry yd. TrackMan tour
averages, published 2 May 2024, not normalised for weather or site (S: two transcriptions agree).
"""

MEN_2023 = {
    "driver": (171, 10.4, 2545, 35, 39, 282),
    "3-wood": (162, 9.3, 3663, 32, 44, 249),
    "5-wood": (156, 9.7, 4322, 33, 48, 236),
    "hybrid": (149, 10.2, 4587, 31, 49, 231),
    "3-iron": (145, 10.3, 4404, 30, 48, 218),
    "4-iron": (140, 10.8, 4782, 31, 49, 209),
    "5-iron": (135, 11.9, 5280, 33, 50, 199),
    "6-iron": (130, 14.0, 6204, 32, 50, 188),
    "7-iron": (123, 16.1, 7124, 34, 51, 176),
    "8-iron": (118, 17.8, 8078, 33, 51, 164),
    "9-iron": (112, 20.0, 8793, 32, 52, 152),
    "pitching wedge": (104, 23.7, 9316, 32, 52, 142),
}
