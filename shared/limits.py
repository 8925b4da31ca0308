"""What Discord takes: a message, its embeds and buttons, a form, a poll. Source: its API reference.

Lengths of texts are in characters; ``shared.text.size`` is never less than how Discord counts them.
"""

# A message
CONTENT = 2000
EMBEDS = 10
EMBED = 6000  # all embeds of a message together
TITLE = 256
DESCRIPTION = 4096
FIELDS = 25
FIELD_NAME = 256
FIELD = 1024
FOOTER = 2048
FILES = 10
ALT = 1024  # a file's description

# Buttons and autocompletion
CUSTOM_ID = 100
THREAD = 100  # a thread's name
BUTTON = 80  # a button's label
ROW = 5  # buttons in one
CHOICES = 25
CHOICE = 100

# A form
FORM_TITLE = 45
LABEL = 45
LABEL_ABOUT = 100
PLACEHOLDER = 100
FORM_TEXT = 4000

# A poll
POLL_QUESTION = 300
POLL_ANSWERS = 10
POLL_ANSWER = 55
POLL_HOURS = 32 * 24
VOTERS = 100  # given at once
