"""How Leeward's pictures look: ink on chart paper, in px of a phone 390 px wide.

The look is that of a printed sea chart: a paper ground of its own (so that a dark and a light
theme show the same picture), ink lines, and frames graduated in bars that can be counted: one bar
is one aim mark. What must be told apart differs in shape and in words too, never in colour alone.
"""

PHONE_PX = 390.0  # width of a phone's screen in CSS px; every size below is in these px
DENSITY = 2.0  # picture px per CSS px
LEAST_TEXT_PX = 11.0  # the smallest text on a phone

PAPER = "#F6F1E3"  # the ground of every picture
CARD = "#FFFDF6"  # where the ball may be: the inside of frames
SHADE = "#E7DFC9"  # out of bounds of what is wanted: outside the room, every second row
TINT = "#EFE8D4"  # where the close-up lies
HAIR = "#C3B99F"  # grid lines; never carries meaning alone
INK = "#14283C"  # text, the flight
SOFT = "#4C5B67"  # secondary text
SEA = "#17606B"  # the wind
RUST = "#B23A0E"  # the aim
SAND = "#E3B866"  # where shots came down
INKS = (PAPER, CARD, SHADE, TINT, HAIR, INK, SOFT, SEA, RUST, SAND)

HEAD_PX = 20.0
TEXT_PX = 13.0
SMALL_PX = 11.0
EDGE_PX = 14.0  # margin of a picture
