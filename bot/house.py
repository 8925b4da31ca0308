"""The house: the database and what the features stand on, opened once by the composition root."""

import asyncio
import logging
from dataclasses import dataclass

from bot.bag.shelf import BagShelf
from bot.book.choices import Choices
from bot.book.service import Book
from bot.caddie.told import AimsTold
from bot.draw.desk import DrawDesk
from bot.kit.kept import KeptKits
from bot.kit.shelf import KitShelf
from bot.learning.learner import Learner
from bot.learning.ledger import Ledger
from bot.pictures.press import Press
from bot.roles.check import Roles
from bot.settings import Settings, load_kit
from storage.bags import Bags
from storage.database import Database
from storage.outbox import Outbox
from storage.revisions import Revisions
from storage.settings import CommunitySettings
from storage.tallies import Tallies
from storage.vectors import VectorSums

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class House:
    """What the features stand on."""

    db: Database
    kits: KitShelf
    bags: BagShelf
    choices: Choices
    roles: Roles
    book: Book
    outbox: Outbox
    learner: Learner
    ledger: Ledger
    draw: DrawDesk
    settings: CommunitySettings
    kept_kits: KeptKits
    told: AimsTold


async def open_house(settings: Settings) -> House:
    """Open the database and build the caddie. Errors: StorageError, InputError."""
    kit = await asyncio.to_thread(load_kit, settings.kit)
    kits = await KitShelf.open(kit)
    db = await Database.open(settings.database)
    log.info("database: %s", db.where)
    store = CommunitySettings(db)
    choices = Choices(store)
    ledger = Ledger(store)
    learner = Learner(kits=kits, sums=VectorSums(db), ledger=ledger)
    kits.teach(learner.beliefs)
    kept_kits = KeptKits(Revisions(db))
    kits.keep(kept_kits.get)
    bags = BagShelf(Bags(db))
    book = Book(db=db, choices=choices, kits=kits)
    press = Press(in_thread=settings.draw_in_thread)
    return House(
        db=db,
        kits=kits,
        bags=bags,
        choices=choices,
        roles=Roles(store),
        book=book,
        draw=DrawDesk(
            press=press,
            book=book,
            kits=kits,
            bags=bags,
            tallies=Tallies(db),
            learner=learner,
        ),
        outbox=Outbox(db),
        learner=learner,
        ledger=ledger,
        settings=store,
        kept_kits=kept_kits,
        told=AimsTold(),
    )
