"""Cuts of the leg map against published localisation patterns.

Source of the expected values: data/leg-lesion-patterns.csv (each row names its source). What
a pattern calls weak must lose supply by the cut, what it calls spared must lose nothing.
"""

from nervure.anatomy import cut

# Statements (pattern, target) that the map does not follow: why.
EXCEPTIONS: dict[tuple[str, str], str] = {}


def test_published_patterns_hold_for_at_least_95_percent_of_their_statements(leg):
    stated = 0
    broken = set()
    for pattern in leg.patterns():
        shares = cut(leg.anatomy, pattern.cut).shares
        stated += len(pattern.affected) + len(pattern.spared)
        broken |= {(pattern.pattern, name) for name in pattern.affected if shares[name] == 0}
        broken |= {(pattern.pattern, name) for name in pattern.spared if shares[name] > 0}

    assert stated >= 140
    assert broken == set(EXCEPTIONS)
    assert len(broken) <= 0.05 * stated


def test_muscles_alone_follow_the_published_patterns(leg):
    """The columns weak and spared only, without our reading of the sensory and reflex ones."""
    kinds = {target.id: target.kind for target in leg.anatomy.map.targets}
    for pattern in leg.patterns():
        shares = cut(leg.anatomy, pattern.cut).shares
        weak = [name for name in pattern.affected if kinds[name] == "muscle"]
        spared = [name for name in pattern.spared if kinds[name] == "muscle"]

        assert all(shares[name] > 0 for name in weak), pattern.site
        assert all(shares[name] == 0 for name in spared), pattern.site


def test_the_published_site_is_among_the_first_three_groups_for_its_own_pattern(leg, ranks):
    """Patterns with both weak and spared targets, which is when a site can be told apart."""
    for pattern in leg.patterns():
        if pattern.affected and pattern.spared:
            first = ranks(leg.anatomy, pattern.affected, pattern.spared)[:3]
            assert any(site in group for group in first for site in pattern.cut), pattern.site
