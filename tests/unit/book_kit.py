"""What the tests of the book stand on: the demo's kit and cup, a small event, a book."""

from pathlib import Path

from bot.services.book.book import Book
from bot.services.book.choices import Choices
from bot.services.book.toml_in import read_event
from bot.services.members import Caddies
from bot.settings import DEMO, DEMO_KIT, load_kit
from shared.actor import Author
from shared.book import Event
from shared.kit import Kit
from storage.database import Database

ROSALIND, TAMSIN = Author(11, "Rosalind"), Author(12, "Tamsin")
COMMUNITY = 7_001


def demo_kit() -> Kit:
    return load_kit(DEMO_KIT)


def demo_cup_text() -> str:
    return (DEMO / "cup.toml").read_text(encoding="utf-8")


def demo_cup(kit: Kit) -> Event:
    return read_event(demo_cup_text(), file="cup.toml", kit=kit)


def small_event(name: str = "Small Cup") -> Event:
    """Nine holes, one line on holes 4 and 7."""
    text = Path(__file__).with_name("small_cup.toml").read_text(encoding="utf-8")
    return read_event(text.replace("Small Cup", name), file="small.toml", kit=demo_kit())


def open_book(db: Database, kits: Caddies) -> Book:
    return Book(db=db, choices=Choices(db), kits=kits)
