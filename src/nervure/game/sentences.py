"""Every rule of a game in plain words, for rulebook and pages.

The texts stand in ``words/LANG/rules.toml``. A rule that cannot come up in this game (late
lifts without lift, say) has no sentence.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from nervure import words
from nervure.game.bonuses import Bonus
from nervure.game.deck import PRINTED_ON_TARGET, VARIANT, WILD_ANY
from nervure.game.model import Game
from nervure.game.rules import TARGET_TIE_BREAK, ByPlayers, End

Sentence = tuple[str, str]


def sentences(game: Game, language: str | None = None) -> list[Sentence]:
    """Give (key, sentence) for every rule in force, in the order of docs/rules.md.

    Keys are those of game.toml (``rules.hand``, ``points``, ``bonus.ID``), and ``wild``,
    ``variant`` for such cards, ``printed-test`` for how the table proves a strand.
    """
    speaker = _Speaker(game, language or game.folder.language)
    return [
        *speaker.setting_up(),
        *speaker.turns(),
        *speaker.strands(),
        *speaker.ending(),
        *speaker.printed(),
        *speaker.cards_and_bonuses(),
    ]


class _Speaker:
    def __init__(self, game: Game, language: str) -> None:
        self.game = game
        self.rules = game.rules
        self.language = language
        origin = game.words["origin"]
        self.own_words = {
            "origin": origin,
            "origins": game.words.get("origins", f"{origin}s"),
            "fibre": game.words["fibre"],
            "fibres": game.words["fibres"],
        }

    def tell(self, key: str, **values: object) -> str:
        return words.say(f"rules.{key}", self.language, **self.own_words, **values)

    def rule(self, key: str, form: str = "text", **values: object) -> Sentence:
        return f"rules.{key}", self.tell(f"{key}.{form}", **values)

    def listing(self, parts: Iterable[str], last: str = "and") -> str:
        *head, tail = list(parts)
        if not head:
            return tail
        return self.tell("words.comma").join(head) + self.tell(f"words.{last}") + tail

    def counted(self, noun: str, count: int) -> str:
        return self.tell(f"words.{noun}-{'one' if count == 1 else 'many'}", count=count)

    def times(self, count: int) -> str:
        form = {1: "one", 2: "two"}.get(count, "many")
        return self.tell(f"words.time-{form}", count=count)

    def players(self, numbers: Iterable[int]) -> str:
        numbers = list(numbers)
        if numbers == [1]:
            return self.tell("words.players-one")
        listed = self.listing(map(str, numbers), "or")
        return self.tell("words.players-many", numbers=listed)

    def by_players(self, values: ByPlayers[int], show: Callable[[int], str]) -> str:
        """Say a value once, or for each group of numbers of players."""
        groups: dict[int, list[int]] = {}
        for players in self.rules.table_sizes:
            groups.setdefault(values.at(players), []).append(players)
        if len(groups) == 1:
            return show(next(iter(groups)))
        return self.listing(
            self.tell("words.with-players", value=show(value), players=self.players(numbers))
            for value, numbers in groups.items()
        )

    def setting_up(self) -> list[Sentence]:
        rules, game = self.rules, self.game
        tiers = {tier.id: tier for tier in game.anatomy.map.tiers}
        left_out = [tier.plural for tier in tiers.values() if tier.id not in game.tiers]
        kinds = dict.fromkeys(game.anatomy.target(name).kind for name in game.targets)
        said = [
            self.rule(
                "players",
                "one" if rules.players == (1, 1) else "many",
                players=self.players(rules.table_sizes),
            ),
            self.rule(
                "tiers",
                "some" if left_out else "all",
                tiers=self.listing(tiers[name].plural for name in game.tiers),
                left_out=self.listing(left_out or [""]),
            ),
            self.rule(
                "targets",
                count=len(game.targets),
                kinds=self.listing([words.say(f"game.kinds.{kind}") for kind in kinds] or [""]),
            ),
            self.rule(
                "hand", cards=self.by_players(rules.hand, lambda n: self.counted("card", n))
            ),
        ]
        if any(rules.seat_cards):
            extras = [
                self.tell("seat_cards.extra", count=self.counted("card", count), seat=seat)
                for seat, count in enumerate(rules.seat_cards, start=1)
                if count
            ]
            said.append(self.rule("seat_cards", extras=self.listing(extras)))
        said.append(self.shown("open_targets", rules.open_targets, "target"))
        if rules.secret_targets:
            cards = self.counted("target", rules.secret_targets)
            said.append(self.rule("secret_targets", "some", cards=cards))
        return [*said, self.shown("display", rules.display, "card")]

    def shown(self, key: str, values: ByPlayers[int], noun: str) -> Sentence:
        form = "some" if any(values.at(n) for n in self.rules.table_sizes) else "none"
        cards = self.by_players(values, lambda n: self.counted(noun, n))
        return self.rule(key, form, cards=cards[:1].upper() + cards[1:])

    def turns(self) -> list[Sentence]:
        rules = self.rules
        ways = [self.tell(f"draws.{draw}") for draw in rules.draws]
        said = [
            self.rule("draw_count", times=self.times(rules.draw_count)),
            self.rule("draws", ways=self.tell("words.choice").join(ways))
            if ways
            else self.rule("draws", "none"),
        ]
        if "swap" in rules.draws:
            said.append(self.rule("swapped_go", rules.swapped_go))
        if "lift" in rules.draws:
            said.append(self.rule("late_lifts", count=rules.late_lifts))
        said += [
            self.rule("play_count", times=self.times(rules.play_count)),
            self.rule("must_play", _yes_no(rules.must_play)),
            self.rule("join", rules.join),
            self.rule("claim", rules.claim),
            self.rule("refill", _yes_no(rules.refill)),
        ]
        key, passing = self.rule("may_pass", rules.may_pass)
        if rules.may_pass != "never" and self.ends("all-passed"):
            passing += " " + self.tell("may_pass.for-good")
        return [*said, (key, passing)]

    def ends(self, kind: str) -> bool:
        every = (self.rules.end.at(players) for players in self.rules.table_sizes)
        return any(end.kind == kind for ends in every for end in ends)

    def strands(self) -> list[Sentence]:
        rules = self.rules
        needs = "both" if len(rules.claim_needs) == 2 else (*rules.claim_needs, "none")[0]
        minimum = max(1, rules.claim_minimum)
        said = [
            self.rule("connect", rules.connect),
            self.rule("skip_tiers", _yes_no(rules.skip_tiers)),
            self.rule("insert", _yes_no(rules.insert)),
            self.rule("supply", rules.supply),
            self.rule("claim_needs", needs),
            self.rule("claim_minimum", cards=self.counted("card", minimum)),
            self.rule("full_strand", rules.full_strand),
        ]
        if any(kind.startswith("wild:") for kind in self.game.hand_kinds):
            said.append(self.rule("claim_real", count=rules.claim_real))
        return said

    def ending(self) -> list[Sentence]:
        groups: dict[tuple[End, ...], list[int]] = {}
        for players in self.rules.table_sizes:
            groups.setdefault(self.rules.end.at(players), []).append(players)
        ends = []
        for held, numbers in groups.items():
            text = self.listing(
                (self.tell(f"end.{end.kind}", count=end.amount) for end in held), "or"
            )
            if len(groups) > 1:
                text = self.tell("words.with-players", value=text, players=self.players(numbers))
            ends.append(text)
        end = self.tell("end.text", ends=self.listing(ends, "or")) + " " + self.tell("end.always")
        breaks = [self.tie_break(name) for name in self.rules.tie_breaks]
        listed = self.tell("words.then").join(breaks)
        ties = (
            self.rule("tie_breaks", breaks=listed) if breaks else self.rule("tie_breaks", "none")
        )
        return [("rules.end", end), ("points", self.tell("points.text")), ties]

    def tie_break(self, name: str) -> str:
        if name.startswith(TARGET_TIE_BREAK):
            target = name.removeprefix(TARGET_TIE_BREAK)
            known = {row.id: row.name for row in self.game.anatomy.map.targets}
            return self.tell("tie_breaks.target", target=known.get(target, target))
        return self.tell(f"tie_breaks.{name}")

    def printed(self) -> list[Sentence]:
        said = [
            self.rule("parts_show", self.rules.parts_show),
            self.rule("targets_show", self.rules.targets_show),
        ]
        if self.rules.parts_show != "nothing":
            test = self.tell("printed-test.strands")
            form = {"origins": "marks", "pathways": "lights"}.get(self.rules.targets_show)
            if form:
                test += " " + self.tell(f"printed-test.{form}")
            said.append(("printed-test", test))
        return said

    def cards_and_bonuses(self) -> list[Sentence]:
        game = self.game
        tier_name = {tier.id: tier.name for tier in game.anatomy.map.tiers}
        wild_tiers = [tier_name[name] for name in game.tiers if f"wild:{name}" in game.hand_kinds]
        wilds = []
        if wild_tiers:
            wilds.append(self.tell("wild.tier", tier=self.listing(wild_tiers, "or")))
        if WILD_ANY in game.hand_kinds:
            wilds.append(self.tell("wild.any"))
        said = [("wild", " ".join(wilds))] if wilds else []
        if VARIANT in game.hand_kinds:
            said.append(("variant", self.tell("variant.text")))
        if game.bonus_of:
            where = game.bonus_settings.printed_on
            card = (
                self.tell("bonus.target-card")
                if where == PRINTED_ON_TARGET
                else self.tell("bonus.tier-card", tier=tier_name.get(where, where))
            )
            said.append(("bonuses.printed_on", self.tell("bonus.printed_on", card=card)))
            said += [(f"bonus.{bonus.id}", self.bonus(bonus)) for bonus in game.bonuses]
        return said

    def bonus(self, bonus: Bonus) -> str:
        if bonus.says:
            return bonus.says
        effects = []
        for effect in bonus.effects:
            key = f"{effect.name}-kind" if effect.kind else effect.name
            kind = words.say(f"game.kinds.{effect.kind}", self.language) if effect.kind else ""
            effects.append(self.tell(f"bonus.{key}", amount=effect.amount, kind=kind))
        when = self.tell(f"bonus.{bonus.when}")
        text = self.tell("bonus.derived", when=when, effects=self.tell("words.then").join(effects))
        return text[:1].upper() + text[1:]


def bonus_sentence(game: Game, bonus: Bonus, language: str | None = None) -> str:
    """Give what a bonus says on its card: the author's words, or the derived sentence."""
    return _Speaker(game, language or game.folder.language).bonus(bonus)


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"
