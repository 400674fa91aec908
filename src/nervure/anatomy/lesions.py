"""What a cut takes: the share of each target's marked supply that a lesion loses.

The weights are a convention of this tool (docs/anatomy.md): screens and paper say *some*,
*most* or *all* of the supply marked here, the number only on asking. Comes in: an
`Anatomy` and sites. Goes out: a `Cut`. For teaching; no diagnostic aid.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal
from weakref import WeakKeyDictionary

from nervure import words
from nervure.anatomy._losses import Losses
from nervure.anatomy.pathways import Anatomy, Pathway
from nervure.anatomy.sites import Site, sites_of
from nervure.errors import UnknownName
from nervure.project.records import Ids

Lost = Literal["spared", "some", "most", "all"]
_LOSSES: WeakKeyDictionary[Anatomy, Losses] = WeakKeyDictionary()


@dataclass(frozen=True, slots=True)
class Cut:
    """What a lesion takes.

    ``shares``: every supplied target with the share lost, 0 to 1; ``words``: the same as
    *spared* (0), *some* (below one half), *most* (from one half), *all* (1);
    ``lost``: the pathways taken.
    """

    sites: tuple[Site, ...]
    shares: Mapping[str, float]
    words: Mapping[str, Lost]
    lost: tuple[Pathway, ...]

    @property
    def affected(self) -> Ids:
        """Targets that lose something, in map order."""
        return tuple(name for name, share in self.shares.items() if share > 0)

    @property
    def spared(self) -> Ids:
        """Targets that lose nothing, in map order."""
        return tuple(name for name, share in self.shares.items() if share == 0)

    def to_dict(self) -> dict[str, Any]:
        """Give the cut as plain data, as ``--json`` shows it."""
        return {
            "sites": [str(site) for site in self.sites],
            "affected": {name: self.shares[name] for name in self.affected},
            "words": {name: self.words[name] for name in self.affected},
            "spared": list(self.spared),
        }


def losses_of(anatomy: Anatomy) -> Losses:
    """Give the arrays that cuts of this anatomy are computed with, made once."""
    if anatomy not in _LOSSES:
        _LOSSES[anatomy] = Losses(anatomy)
    return _LOSSES[anatomy]


def word_for(share: float) -> Lost:
    """Give the word for a share lost.

    >>> [word_for(share) for share in (0.0, 0.49, 0.5, 0.99, 1.0)]
    ['spared', 'some', 'most', 'most', 'all']
    """
    if share <= 0:
        return "spared"
    if share >= 1:
        return "all"
    return "some" if share < 0.5 else "most"


def cut(
    anatomy: Anatomy,
    sites: str | Site | Iterable[str | Site],
    via: Sequence[str] = (),
    fibres: Iterable[str] | None = None,
) -> Cut:
    """Cut one or several sites; several take the union of what each takes.

    A cut at ``S@n`` takes the pathways that pass S, entered it before n and leave it at n
    or beyond; ``from>to`` those that use the link. A cut of an origin at level 1 spares
    targets of kind ``potential``: the cells of sensory fibres lie distal to it.

    Parameters
    ----------
    anatomy
        The map, with the variants that matter taken in.
    sites
        Sites or ids of named lesions, as text or as `Site`.
    via, fibres
        Limit all sites, on top of their own limits: to pathways that passed one of these
        structures before, and to fibres of these origins.

    Raises
    ------
    UnknownName, BadUsage
        A site, structure or origin that does not exist.
    """
    given = [sites] if isinstance(sites, str | Site) else list(sites)
    wanted = [
        site
        for one in given
        for site in ((one,) if isinstance(one, Site) else sites_of(anatomy, one))
    ]
    for name in (*via, *(name for site in wanted for name in (site.structure, site.end) if name)):
        anatomy.structure(name)
    allowed = None if fibres is None else tuple(fibres)
    for fibre in allowed or ():
        if fibre not in anatomy.origins:
            raise UnknownName(words.say("anatomy.kind.origin"), fibre, anatomy.origins)
    losses = losses_of(anatomy)
    taken = losses.taken(wanted, tuple(via), allowed)
    shares = dict(zip(losses.targets, losses.shares(taken[None, :])[0].tolist(), strict=True))
    return Cut(
        tuple(wanted),
        shares,
        {name: word_for(share) for name, share in shares.items()},
        tuple(pathway for pathway, is_lost in zip(losses.pathways, taken, strict=True) if is_lost),
    )
