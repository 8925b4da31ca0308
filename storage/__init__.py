"""What must last. SQLAlchemy Core; one small typed repository per noun.

The only doors are ``Database.read`` and ``Database.write``. Each takes a plain function of a
SQLAlchemy ``Connection``: being plain, it cannot await the chat in the middle of a transaction.
Functions of a connection compose, so that several nouns can change in one transaction.
"""
