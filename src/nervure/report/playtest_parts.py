"""What a playtest's page shows, for ``out/`` and the workbench alike."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property

from markupsafe import Markup

from nervure.game import Game
from nervure.records import (
    PlaytestResult,
    Verdict,
    places_for,
    rounded_up,
    said_unit,
    say_count,
    say_figure,
    say_range,
)
from nervure.report.leaf import Leaf
from nervure.report.pages import Step
from nervure.report.playtest_exposure import LISTED as NEVER_LISTED
from nervure.report.playtest_exposure import exposure_leaf, never_met
from nervure.report.playtest_leaf import LISTED, Claims, claims_leaf, claims_of
from nervure.report.playtest_plate import Plate
from nervure.report.playtest_plates import plates
from nervure.report.playtest_rows import (
    CardLine,
    MeasureRow,
    TargetLine,
    card_lines,
    claim_lengths,
    idle_cards,
    measure_rows,
    sure_cards,
    table_sizes,
    target_lines,
)
from nervure.report.playtest_ruler import mark, ruler
from nervure.report.playtest_words import Talk

GOOD = ("holds", "certain")
NAMED = 6
GOALS_OF = {
    "lengths": ("minutes", "turns", "wait", "finish", "first_claim"),
    "seats": ("seat_gap",),
    "styles": ("style_edge",),
    "ladder": ("skill_ladder",),
    "knowledge": ("knowledge_edge",),
}


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict as the page shows it: its sentence in two parts, mark and ruler drawn."""

    verdict: Verdict
    word: str
    head: str
    rest: str
    others: str
    mark: Markup
    ruler: Markup


class PlaytestParts:
    """The page's parts, each worked out from the result and the game.

    The result's targets and cards must be those of the game; its other figures need not.
    """

    def __init__(self, result: PlaytestResult, game: Game) -> None:
        self.result, self.game, self.talk = result, game, Talk(game)
        self.tell, self.amount = self.talk.tell, self.talk.amount

    @cached_property
    def leaf(self) -> Leaf | None:
        """The map with its claims; None where nothing was claimed or opened."""
        return claims_leaf(self.claims, self.game, self.talk) if self.claims.shares else None

    @cached_property
    def exposure(self) -> Leaf | None:
        """The map with what of it is met; None where no facts were counted."""
        return exposure_leaf(self.result, self.game, self.talk)

    @cached_property
    def never_met(self) -> list[str]:
        """The connections that no game met."""
        return never_met(self.result, self.talk)

    @property
    def never_more(self) -> str:
        """How many more of them there are than are listed."""
        more = len(self.never_met) - NEVER_LISTED
        return self.amount("meaning.more", more) if more > 0 else ""

    @property
    def limit(self) -> str:
        """Below which share of games a target is hardly claimed."""
        return say_figure(self.claims.limit, "share")

    @property
    def rarest(self) -> list[tuple[str, str]]:
        """The targets that are hardly claimed, each with its share of games."""
        claims = self.claims
        return [
            (self.talk.name(target), say_figure(claims.shares[target], "share", 1))
            for target in claims.hardly[:LISTED]
        ]

    @property
    def targets(self) -> tuple[TargetLine, ...]:
        """The target cards as rows."""
        return target_lines(self.result, frozenset(self.claims.hardly), self.talk)

    @property
    def lengths(self) -> tuple[int, ...]:
        """The strand lengths of claims."""
        return claim_lengths(self.result)

    @property
    def cards(self) -> tuple[CardLine, ...]:
        """The part cards as rows."""
        return card_lines(self.result, self.game, self.talk)

    @property
    def sizes(self) -> tuple[int, ...]:
        """The numbers of players that were played."""
        return table_sizes(self.result)

    @property
    def measures(self) -> tuple[MeasureRow, ...]:
        """Every measure as a row."""
        return measure_rows(self.result, self.talk)

    @cached_property
    def claims(self) -> Claims:
        """How often each target was claimed."""
        return claims_of(self.result)

    @cached_property
    def mispaid(self) -> list[str]:
        """Targets that pay otherwise than their rarity asks, at any length."""
        return [
            row.target
            for row in self.result.targets
            if row.difficulty and row.points != row.difficulty
        ]

    @cached_property
    def idle(self) -> list[str]:
        """The part cards that never leave with a claim."""
        return idle_cards(self.result, self.game)

    @cached_property
    def plates(self) -> tuple[Plate, ...]:
        """The charts, each with caption and table."""
        return plates(self.result, self.game, self.talk)

    # Standing

    @cached_property
    def counts(self) -> Counter[str]:
        """How many goals have each verdict."""
        return Counter(verdict.verdict for verdict in self.result.verdicts)

    @cached_property
    def steps(self) -> list[Step]:
        """The leaves of the page's twig."""
        bad = {v.goal for v in self.result.verdicts if v.verdict not in GOOD}
        drawn = {plate.key for plate in self.plates}
        troubled = {
            "verdicts": bool(bad),
            **{part: bool(bad & set(goals)) for part, goals in GOALS_OF.items()},
            "points": bool(self.mispaid),
            "freedoms": False,
            "claims": bool(self.claims.never),
            "cards": bool(self.idle),
            "measures": False,
        }
        shown = drawn | {"verdicts", "measures"}
        shown |= {"claims"} if self.claims.shares else set()
        shown |= {"cards"} if self.result.cards else set()
        return [
            Step(self.tell(f"step.{part}"), f"#{part}", "attention" if trouble else "order")
            for part, trouble in troubled.items()
            if part in shown
        ]

    @property
    def in_order(self) -> list[str]:
        """What is in order, in sentences."""
        goals = len(self.result.verdicts)
        if not goals:
            return [self.tell("standing.no-goals")]
        good = self.counts["holds"] + self.counts["certain"]
        if not good:
            return [self.tell("standing.none-hold")]
        found = [self.amount("standing.hold", good, goals=goals)]
        if self.counts["certain"]:
            found.append(self.amount("standing.certain", self.counts["certain"]))
        return found

    @property
    def attention(self) -> list[tuple[str, str, bool]]:
        """Give what needs attention: link, words, whether it is a failed goal."""
        found = [
            (f"#goal-{verdict.goal}", self._attention(verdict), verdict.verdict == "fails")
            for verdict in self.result.verdicts
            if verdict.verdict not in GOOD
        ]
        counted = (
            ("paid", "#points", self.mispaid),
            ("never", "#claims", self.claims.never),
            ("idle", "#cards", self.idle),
        )
        found += [
            (link, self.amount(f"standing.{key}", len(concerned)), False)
            for key, link, concerned in counted
            if concerned
        ]
        return found

    def _attention(self, verdict: Verdict) -> str:
        return self.tell(f"standing.{verdict.verdict}", goal=self.goal_name(verdict.goal))

    @property
    def following(self) -> str:
        """The next thing to do, in a sentence."""
        fails = [v for v in self.result.verdicts if v.verdict == "fails"]
        watched = [v for v in self.result.verdicts if v.verdict == "watch"]
        folder = self.game.folder.path.name
        if self.result.stopped:
            return self.tell("next.go-on", folder=folder)
        if fails:
            goal = self.goal_name(fails[0].goal)
            return self.tell("next.change", goal=goal, folder=folder)
        settled = [v.more_games for v in watched if v.more_games is not None]
        if settled:
            return self.tell("next.more", games=rounded_up(max(settled)), folder=folder)
        if watched:
            return self.tell("next.edge", goal=self.goal_name(watched[0].goal))
        if not self.result.verdicts:
            return self.tell("next.goals")
        return self.tell("next.people")

    # How it was played

    @property
    def played(self) -> str:
        """How it was played, in a sentence."""
        return self.how_played("stopped" if self.result.stopped else "all")

    def how_played(self, state: str) -> str:
        """Say how it was played: all of it, stopped early, or so far."""
        sizes = self.talk.listed([str(size) for size in table_sizes(self.result)])
        parts = [self._step(kind) for kind in dict.fromkeys(s["kind"] for s in self.result.plan)]
        timed = self.result.seconds_per_turn != self.game.goals.seconds_per_turn
        return self.tell(
            f"played.{state}",
            games=say_count(self.result.games),
            sizes=sizes,
            parts="; ".join(parts),
            seed=self.result.seed,
            seconds=say_figure(self.result.seconds_per_turn, "seconds"),
            why=self.tell("played.timed" if timed else "played.set"),
        )

    def _step(self, kind: str) -> str:
        steps = [step for step in self.result.plan if step["kind"] == kind]
        most = max(step["played"] for step in steps)
        names = self.talk.listed(list(dict.fromkeys(n for s in steps for n in s["line_up"])))
        if kind == "line-up":
            names = self.talk.listed(list(steps[0]["line_up"]))
        by_size: Counter[tuple[int, frozenset[str]]] = Counter()
        for step in steps:
            by_size[len(step["line_up"]), frozenset(step["line_up"])] += step["played"]
        if kind == "styles":
            most = max(by_size.values())
        return self.tell(f"played.{kind}", games=say_count(most), styles=names)

    # Verdicts

    @cached_property
    def verdicts(self) -> list[Judged]:
        """Every verdict as it is shown."""
        return [self._judged(verdict) for verdict in self.result.verdicts]

    def _judged(self, verdict: Verdict) -> Judged:
        head, colon, rest = verdict.sentence.partition(": ")
        if not colon:
            head, rest = "", verdict.sentence
        unit = said_unit(verdict.goal, verdict.unit)
        return Judged(
            verdict,
            self.tell(f"verdict.{verdict.verdict}"),
            f"{head}:" if head else "",
            rest,
            self._others(verdict),
            Markup(mark(verdict.verdict, is_below=_is_below(verdict))),
            Markup(
                ruler(
                    verdict,
                    f"ruler-{verdict.goal}",
                    self._told(verdict),
                    self.tell(f"axis.{unit}") if self.talk.has(f"axis.{unit}") else unit,
                )
            ),
        )

    def _told(self, verdict: Verdict) -> str:
        unit = said_unit(verdict.goal, verdict.unit)
        goal = say_range(verdict.low, verdict.high, unit)
        name = self.goal_name(verdict.goal)
        if verdict.value is None:
            return self.tell("ruler.open", goal=goal, name=name)
        places = places_for(verdict.interval, unit)
        figure = say_figure(verdict.value, unit, places)
        interval = self.talk.interval(verdict.interval, unit, places)
        key = "ruler.told" if interval else "ruler.exact"
        return self.tell(key, name=name, goal=goal, figure=figure, interval=interval)

    def _others(self, verdict: Verdict) -> str:
        """Give the figure at the other numbers of players."""
        unit = said_unit(verdict.goal, verdict.unit)
        places = places_for(verdict.interval, unit)
        found = [
            self.tell(
                "verdict.other",
                players=self.amount("players", measure.players),
                figure=say_figure(measure.value, unit, places),
            )
            for measure in self.result.measures
            if measure.name == verdict.goal
            and verdict.players is not None
            and measure.players != verdict.players
        ]
        return self.tell("verdict.others", figures=", ".join(found)) if found else ""

    def goal_name(self, goal: str) -> str:
        """Give the name of a measure in running text."""
        return self.tell(f"measure.{goal}") if self.talk.has(f"measure.{goal}") else goal

    @property
    def said_open(self) -> str:
        """The goals that are not as precise as asked, in a row."""
        proved = {v.goal for v in self.result.verdicts if v.verdict == "certain"}
        names = [self.goal_name(goal) for goal in self.result.open if goal not in proved]
        return self.talk.listed(names)

    # What it means

    @property
    def meaning(self) -> list[str]:
        """What the claims mean for learners, in sentences."""
        claims = self.claims
        if not claims.shares:
            return []
        often = sorted(claims.shares, key=lambda target: -claims.shares[target])[:3]
        found = [
            self.tell("meaning.often", names=self.talk.listed([self.talk.name(t) for t in often]))
        ]
        if claims.never:
            names = [self.talk.name(target) for target in claims.never[:NAMED]]
            more = len(claims.never) - len(names)
            if more > 0:
                names.append(self.amount("meaning.more", more))
            found.append(self.tell("meaning.never", names=self.talk.listed(names)))
        elif claims.hardly:
            found.append(self.amount("meaning.hardly", len(claims.hardly)))
        else:
            found.append(self.tell("meaning.even"))
        return found

    @property
    def sure(self) -> str:
        """Which cards change who wins, in a sentence."""
        cards = list(sure_cards(self.result))
        if not cards:
            return self.tell("cards.none-sure")
        names = [
            self.tell(
                "cards.worth",
                card=self.talk.card(row.card),
                effect=self.talk.signed(100 * (row.effect or 0.0), 1),
            )
            for row in cards[:NAMED]
        ]
        return self.tell("cards.sure", names=self.talk.listed(names))


def _is_below(verdict: Verdict) -> bool:
    """Tell whether the interval misses the goal at its lower end."""
    return verdict.interval is not None and verdict.interval[0] < verdict.low
