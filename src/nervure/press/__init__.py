"""Print-ready cards: gathered from a game, measured, set, and written with a manifest."""

from nervure.press.cards import Deck
from nervure.press.deck import PrintedFile, PrintResult, print_deck
from nervure.press.fitting import Refusal
from nervure.press.gather import gather_deck
from nervure.press.setting import SetDeck, set_deck

__all__ = [
    "Deck",
    "PrintResult",
    "PrintedFile",
    "Refusal",
    "SetDeck",
    "gather_deck",
    "print_deck",
    "set_deck",
]
