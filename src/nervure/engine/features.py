"""The features that the style `weigher` weighs: their order, their names, what each counts.

All are whole numbers that a seat can tell from what it sees. The *value* of a strand is the
weighted sum of the first group; the *gain* of a card is how much the value of a strand grows
by taking it in (or the value of the new loose card), and `FOLLOW` of what the best next card
in hand would add. docs/styles.md tells how the score of a move is made of these.
"""

from __future__ import annotations

from enum import IntEnum


class Feature(IntEnum):
    """Places of the weights; a trailing comment says what is counted."""

    # The value of a strand. Distances are cards that it lacks; 4 or more count as nothing.
    CLAIM_NOW = 0  # 1 if it may claim an open or own secret target as it lies
    CLAIM_ONE = 1  # 1 if it lacks one card for that
    CLAIM_TWO = 2
    CLAIM_THREE = 3
    CLAIM_POINTS = 4  # points of the best target at that distance
    CLAIM_OTHERS = 5  # targets at that distance besides the first
    CLAIM_CONTESTED = 6  # 1 if a rival stands at most one card from all of them
    FULL_NOW = 7  # 1 if it claims as a full strand as it lies
    FULL_ONE = 8
    FULL_TWO = 9
    FULL_THREE = 10
    FULL_POINTS = 11  # points of the best target at that distance
    LENGTH = 12  # its cards
    FUTURE = 13  # targets of the game, open or not, at most three cards away
    # A play.
    FOLLOW = 14  # what the best next card in hand would add to the value
    LAY = 15  # 1 for a new loose card
    LAY_TWIN = 16  # 1 if an equal loose card lies there already
    LAY_EXPOSED = 17  # rivals that have a strand which takes the card in, if takes are allowed
    PLAY_WILD = 18  # 1 if the card is wild
    # A draw.
    DISPLAY = 19  # 1 for a card of the display
    DISPLAY_GAIN = 20  # its gain
    DISPLAY_TWIN = 21  # equal cards in the hand
    DISPLAY_DENIED = 22  # rivals that have a strand which takes it in
    DISPLAY_WILD = 23  # 1 if it is wild
    SWAP = 24  # 1 for a swap
    SWAP_GAIN = 25  # gain of the card given away
    SWAP_TWIN = 26  # 1 if an equal card stays in the hand
    TAKE = 27  # 1 for a rival's loose card
    TAKE_GAIN = 28  # its gain
    LIFT = 29  # 1 for a lift
    LIFT_GAIN = 30  # value after, less value before
    # What may be done at any time. It is done if its score is above 0.
    CLAIM = 31  # 1 for a claim
    CLAIM_PAID = 32  # its points
    CLAIM_FULL = 33  # 1 if the strand is full
    CLAIM_CARDS = 34  # cards of the strand
    CLAIM_EARLY = 35  # 1 if a draw or a play is left this turn
    CLAIM_HAND = 36  # points that at most two more cards of the hand would add
    CLAIM_DISPLAY = 37  # points that the display's would add beyond these
    CLAIM_RACED = 38  # 1 if a rival stands at most one card from the target
    CLAIM_WINS = 39  # 1 if it reaches the end and its seat then leads
    CLAIM_LOSES = 40  # 1 if it reaches the end and its seat does not lead
    CLAIM_URGENT = 41  # 1 if the stock is empty, the last round runs, a rival is near the end
    JOIN = 42  # 1 for a join
    JOIN_GAIN = 43  # value of the strand made, less the values of both
    # Where a turn need not be filled.
    STOP = 44  # 1 for ending the turn or passing instead of a play
    # Again of a play: what the strand comes to, besides what it gains.
    AFTER = 45


FEATURES = len(Feature)


class Kept(IntEnum):
    """Places behind a player's weights: what the remembered values depend on."""

    STAMP = 0  # values under another stamp are forgotten
    LEAST = 1  # fewest cards of a claim
    LOW = 2  # targets that the seat may claim, two words
    HIGH = 3
    NEAR_LOW = 4  # those of them that a rival is near
    NEAR_HIGH = 5
    SIZE = 6


def memory_size(strands: int) -> int:
    """Give the length of one player's part of memory for a design of so many strands."""
    return FEATURES + Kept.SIZE + strands


def weight_names() -> tuple[str, ...]:
    """Give the names of the weights as the files of weights spell them, in their order."""
    return tuple(feature.name.lower().replace("_", "-") for feature in Feature)
