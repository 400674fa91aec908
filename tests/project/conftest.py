"""An invented map of three tiers, the waterworks of a garden, as a project folder."""

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

GARDEN: Mapping[str, str] = {
    "game.toml": 'title = "Garden"\n\n[map]\nname = ""\n',
    "map/tiers.csv": "tier,name,plural,mark\nwell,Well,wells,root\npipe,Pipe,pipes,trunk\n"
    "tap,Tap,taps,\n",
    "map/structures.csv": "structure,tier,name,short,also,site,note\n"
    "w1,well,First well,W1,,,\nw2,well,Second well,W2,,,\n"
    "north-pipe,pipe,North pipe,N,,,\nsouth-pipe,pipe,South pipe,S,,,\n"
    "gate-tap,tap,Tap at the gate,G,,,\nshed-tap,tap,Tap at the shed,H,,,\n",
    "map/links.csv": "from,to,level,enters,via,fibres,main_fibres,variant,sources\n"
    "w1,north-pipe,,,,,,,plan\nw2,south-pipe,,,,,,,plan\n"
    "north-pipe,gate-tap,1,,,w1,w1,,plan\nsouth-pipe,shed-tap,,,,w2,,,plan\n"
    "north-pipe,shed-tap,2,,,w1,,,plan\n",
    "map/targets.csv": "target,name,short,kind,needs,test,note,sources\n"
    "rose-bed,Rose bed,R,organ,,,,plan\nherb-bed,Herb bed,B,organ,sum,,,plan\n",
    "map/supplies.csv": "target,through,level,via,fibres,main_fibres,share,variant,sources\n"
    "rose-bed,gate-tap,,,w1,w1,,,plan\nherb-bed,shed-tap,,,w1 w2,w2,,,plan\n",
    "map/sources.csv": "source,citation,kind,how_obtained\n"
    "plan,Invented plan of an invented garden,own,own observation\n"
    "walk,Invented walk through it,own,own observation\n",
    "map/readings.csv": "target,through,fibres,main_fibres,source\nherb-bed,shed-tap,w2,,walk\n",
    "map/variants.csv": "variant,name,seen_in_percent,note,sources\n"
    "third-pipe,A third pipe,5-20,,plan\n",
    "map/lesions.csv": "lesion,name,sites,via,fibres,note,sources\n"
    "frost,Frost in the north,north-pipe@2 south-pipe>shed-tap,,,,plan\n",
    "deck.csv": "card,copies,points,bonus\nw1,3,,\nherb-bed,,2 4,\nwild:pipe,1,,\n",
    "plays.csv": "date,seats,minutes,scores,winner,ended\n2026-05-01,2,25,12 9,1,own rule\n",
    "text/story.md": "The gardener is away.\n",
    "art/w1.svg": "<svg xmlns='http://www.w3.org/2000/svg'/>",
    "art/credits.csv": "file,author,licence,changes\nw1.svg,invented,CC0,\n",
}
Files = Mapping[str, str | bytes | None]
MakeFolder = Callable[[Files], Path]


@pytest.fixture
def garden(tmp_path: Path) -> MakeFolder:
    """Write the garden, with some files changed (None: left out), and give its folder."""

    def make(changes: Files | None = None) -> Path:
        root = tmp_path / "garden"
        for name, content in {**GARDEN, **(changes or {})}.items():
            if content is None:
                continue
            file = root / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
        return root

    return make


@pytest.fixture
def garden_files() -> dict[str, str]:
    """Give the garden's files by name."""
    return dict(GARDEN)
