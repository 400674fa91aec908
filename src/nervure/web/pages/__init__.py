"""The pages of the workbench, each in a folder of its own: route, template, sheet, script."""

from nervure.web.pages import cards, first, kept, map, play, playtest, rules

PAGES = tuple(
    sorted(
        (
            cards.PAGE,
            first.PAGE,
            kept.PAGE,
            map.PAGE,
            play.PAGE,
            playtest.PAGE,
            rules.PAGE,
        ),
        key=lambda page: page.place,
    )
)

__all__ = ["PAGES"]
