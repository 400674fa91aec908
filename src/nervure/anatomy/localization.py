"""Which sites explain the findings, and what one more examination would tell apart.

Candidates are all structures marked ``site``, at every level that occurs on them, and every
named lesion. Findings are independent given the site; targets not examined say nothing.
Scope: one lesion, one limb, peripheral; for teaching, no diagnostic aid.

The drop in entropy is the mutual information of site and finding (Shannon 1948, A
mathematical theory of communication, section 6): entropy of the finding less its mean
entropy within the sites, in bits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from nervure import words
from nervure.anatomy.lesions import losses_of
from nervure.anatomy.pathways import Anatomy
from nervure.anatomy.sites import Site, levels_of, sites_of
from nervure.errors import BadUsage, NervureError
from nervure.project.records import Ids

Floats = NDArray[np.float64]

ERROR = 0.05
# A target that has lost this share of its supply is found affected as surely as can be.
FULL_EFFECT = 0.5
# A drop in entropy below this many bits tells nothing apart.
LEAST_DROP = 1e-9


@dataclass(frozen=True, slots=True)
class SiteRank:
    """One candidate: its probability, and the findings that it explains and misses.

    ``site`` is its name as `sites_of` reads it. Explained are affected targets of which
    the cut takes something and spared ones of which it takes nothing.
    """

    site: str
    probability: float
    explains: Ids
    misses: Ids


@dataclass(frozen=True, slots=True)
class SiteGroup:
    """Candidates that no examination of this map can tell apart, with their sum."""

    sites: Ids
    probability: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """One outcome of an examination: how likely it is, and the groups ranked after it."""

    affected: bool
    probability: float
    groups: tuple[SiteGroup, ...]


@dataclass(frozen=True, slots=True)
class NextExamination:
    """The most telling target not examined yet; ``drop`` is in bits."""

    target: str
    drop: float
    outcomes: tuple[Outcome, Outcome]


@dataclass(frozen=True, slots=True)
class Localization:
    """Candidates ranked, most probable first; equal ones in map order.

    ``next`` is None when nothing that is left to examine tells any sites apart.
    ``drops``: every target not examined with its expected drop in entropy, largest first.
    """

    affected: Ids
    spared: Ids
    error: float
    sites: tuple[SiteRank, ...]
    groups: tuple[SiteGroup, ...]
    next: NextExamination | None
    drops: tuple[tuple[str, float], ...]

    def to_dict(self) -> dict[str, Any]:
        """Give the ranking as plain data, as ``--json`` shows it."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class _Candidates:
    """Names, prior, share lost of each target (C, T), and the group of each, (C,)."""

    names: Ids
    prior: Floats
    lost: Floats
    group: NDArray[np.int64]


_CANDIDATES: WeakKeyDictionary[Anatomy, _Candidates] = WeakKeyDictionary()


def candidate_sites(anatomy: Anatomy) -> tuple[tuple[str, tuple[Site, ...], float], ...]:
    """Give the candidates: name, sites cut, prior probability.

    The prior is even over structures marked ``site`` that some origin reaches, split over
    their levels; a named lesion counts as a structure. A named lesion whose sites cannot
    be read is left out.
    """
    found: list[tuple[str, tuple[Site, ...], float]] = []
    for name in anatomy.structure_ids:
        if anatomy.structure(name).site and anatomy.reach(name):
            levels = levels_of(anatomy, name)
            sites = (Site(name, level) for level in levels)
            found += [(str(site), (site,), 1 / len(levels)) for site in sites]
    for lesion in anatomy.map.lesions:
        try:
            found.append((lesion.id, sites_of(anatomy, lesion.id), 1.0))
        except NervureError:
            continue
    total = sum(weight for _, _, weight in found)
    return tuple((name, sites, weight / total) for name, sites, weight in found)


def _candidates(anatomy: Anatomy) -> _Candidates:
    if anatomy not in _CANDIDATES:
        listed = candidate_sites(anatomy)
        losses = losses_of(anatomy)
        taken = np.array([losses.taken(sites) for _, sites, _ in listed], dtype=bool)
        lost = losses.shares(taken.reshape(len(listed), len(losses.pathways)))
        groups: dict[bytes, int] = {}
        # Adding zero turns a rounded -0.0 into 0.0, whose bytes differ.
        keys = [(np.round(row, 9) + 0.0).tobytes() for row in lost]
        _CANDIDATES[anatomy] = _Candidates(
            tuple(name for name, _, _ in listed),
            np.array([weight for _, _, weight in listed]),
            lost,
            np.array([groups.setdefault(key, len(groups)) for key in keys], dtype=np.int64),
        )
    return _CANDIDATES[anatomy]


def localize(
    anatomy: Anatomy,
    affected: Iterable[str],
    spared: Iterable[str],
    error: float = ERROR,
) -> Localization:
    """Rank the sites that explain what was found affected and spared.

    P(affected | share lost x) = e + (1 - 2e) min(1, x / 0.5), with e = ``error``.

    Raises
    ------
    UnknownName
        A target that does not exist.
    BadUsage
        A target both affected and spared, or an error not between 0 and 0.5.
    """
    seen_affected, seen_spared = tuple(dict.fromkeys(affected)), tuple(dict.fromkeys(spared))
    for name in (*seen_affected, *seen_spared):
        anatomy.target(name)
    if both := [name for name in seen_affected if name in seen_spared]:
        raise BadUsage(words.say("anatomy.error.both", value=" ".join(both)))
    if not 0 < error < 0.5:
        raise BadUsage(words.say("anatomy.error.error", value=error))
    candidates = _candidates(anatomy)
    targets = losses_of(anatomy).targets
    column = {name: place for place, name in enumerate(targets)}
    chance = error + (1 - 2 * error) * np.minimum(1.0, candidates.lost / FULL_EFFECT)
    score = np.log(candidates.prior)
    # A target without any supply here says nothing of any site.
    score += np.log(chance[:, [column[name] for name in seen_affected if name in column]]).sum(1)
    score += np.log1p(-chance[:, [column[name] for name in seen_spared if name in column]]).sum(1)
    probability = np.exp(score - score.max()) if len(score) else score
    probability = probability / probability.sum() if len(score) else score
    examined = {*seen_affected, *seen_spared}
    open_targets = [name for name in targets if name not in examined]
    drops = _drops(probability, chance, open_targets, column)
    told = drops and drops[0][1] > LEAST_DROP
    return Localization(
        seen_affected,
        seen_spared,
        error,
        _ranks(candidates, probability, column, seen_affected, seen_spared),
        _groups(candidates, probability),
        _next(candidates, probability, chance[:, column[drops[0][0]]], drops[0]) if told else None,
        tuple(drops),
    )


def _order(probability: Floats) -> list[int]:
    """Give the places by falling probability; rounding keeps equal ones in map order."""
    return [int(place) for place in np.argsort(-np.round(probability, 12), kind="stable")]


def _ranks(
    candidates: _Candidates,
    probability: Floats,
    column: dict[str, int],
    affected: Ids,
    spared: Ids,
) -> tuple[SiteRank, ...]:
    ranks = []
    for place in _order(probability):
        lost = candidates.lost[place]
        takes = {name: name in column and lost[column[name]] > 0 for name in affected + spared}
        explains = [name for name in affected if takes[name]]
        explains += [name for name in spared if not takes[name]]
        misses = [name for name in affected + spared if name not in explains]
        ranks.append(
            SiteRank(
                candidates.names[place],
                float(probability[place]),
                tuple(explains),
                tuple(misses),
            )
        )
    return tuple(ranks)


def _groups(candidates: _Candidates, probability: Floats) -> tuple[SiteGroup, ...]:
    sums = np.bincount(candidates.group, weights=probability).astype(np.float64)
    members: dict[int, list[str]] = {}
    for name, group in zip(candidates.names, candidates.group.tolist(), strict=True):
        members.setdefault(group, []).append(name)
    return tuple(SiteGroup(tuple(members[place]), float(sums[place])) for place in _order(sums))


def entropy(probability: Floats) -> Floats:
    """Give the entropy in bits of finding a target affected with this probability.

    >>> entropy(np.array([0.0, 0.5, 1.0])).tolist()
    [0.0, 1.0, 0.0]
    """
    p = np.stack([probability, 1 - probability])
    logs = np.log2(p, out=np.zeros_like(p), where=p > 0)
    found: Floats = np.abs((p * logs).sum(axis=0))
    return found


def _drops(
    probability: Floats, chance: Floats, names: Sequence[str], column: dict[str, int]
) -> list[tuple[str, float]]:
    if not len(probability):
        return []
    columns = chance[:, [column[name] for name in names]]
    drops = entropy(probability @ columns) - probability @ entropy(columns)
    return [(names[place], max(0.0, float(drops[place]))) for place in _order(drops)]


def _next(
    candidates: _Candidates, probability: Floats, chance: Floats, best: tuple[str, float]
) -> NextExamination:
    outcomes = []
    for is_affected in (True, False):
        joint = probability * (chance if is_affected else 1 - chance)
        groups = _groups(candidates, joint / joint.sum())
        outcomes.append(Outcome(is_affected, float(joint.sum()), groups))
    return NextExamination(*best, (outcomes[0], outcomes[1]))
