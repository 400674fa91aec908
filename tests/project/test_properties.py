"""What holds for any table and any bytes: read, write and read again; never a traceback."""

import tempfile
from collections.abc import Mapping
from pathlib import Path

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from nervure.errors import NervureError, Place
from nervure.project import (
    Table,
    TableStyle,
    read_folder,
    read_map,
    read_table,
    start_from_table,
    write_table,
)
from nervure.project._cells import Known, is_id, parse_cell, to_id
from nervure.project._roots import SEGMENTS, parse_roots
from nervure.project.columns import DECK, MAP_TABLES, PLAYS

HEADER = MAP_TABLES["targets"].column_names
# What a spreadsheet may hold; surrogates cannot be written as UTF-8, NUL is refused.
CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)
AWKWARD = st.sampled_from(
    ['"', '""', ",", ";", "\t", "a\nb", "a\r\nb", "\r", " ", "", "=1+1", "é"]
)
STYLES = st.builds(
    TableStyle,
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-8-sig"]),
    st.sampled_from(["\n", "\r\n"]),
)
SOME = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@SOME
@given(
    header=st.permutations(HEADER).flatmap(
        lambda names: st.integers(1, len(names)).map(lambda count: tuple(names[:count]))
    ),
    rows=st.lists(st.lists(CELLS | AWKWARD, max_size=10).map(tuple), max_size=6).map(tuple),
    style=STYLES,
)
def test_a_table_that_is_written_reads_the_same(
    header: tuple[str, ...], rows: tuple[tuple[str, ...], ...], style: TableStyle
) -> None:
    table = Table(header, rows, style)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "targets.csv"

        write_table(path, table)

        again = read_table(path)
        assert (again.header, again.rows) == (table.header, table.rows)
        assert again.style.delimiter == style.delimiter or len(header) == 1
        first = path.read_bytes()
        write_table(path, again)
        assert path.read_bytes() == first


@SOME
@given(text=st.text(max_size=30))
@example("Ärger--mit  ß")
def test_what_is_offered_as_an_id_is_one_and_stays_the_same(text: str) -> None:
    offered = to_id(text)

    assert offered == "" or is_id(offered)
    assert to_id(offered) == offered


@SOME
@given(st.data())
def test_no_cell_raises(data: st.DataObject) -> None:
    columns = [c for spec in (*MAP_TABLES.values(), DECK, PLAYS) for c in spec.columns]
    column = data.draw(st.sampled_from(columns))
    cell = data.draw((CELLS | AWKWARD).map(str.strip).filter(bool))
    faults: list[object] = []

    parse_cell(cell, column, Place("x.csv", 2, column.name), Known(), faults)  # type: ignore[arg-type]  # a plain list will do


@SOME
@given(st.lists(st.integers(0, len(SEGMENTS) - 1), min_size=1, unique=True))
def test_roots_written_as_a_list_are_read_in_the_order_of_the_cord(places: list[int]) -> None:
    names = [SEGMENTS[place] for place in places]

    roots = parse_roots(", ".join(name.upper() for name in names))

    assert roots is not None
    assert roots.all == tuple(sorted(names, key=SEGMENTS.index))


@SOME
@given(first=st.integers(0, 29), last=st.integers(0, 29))
def test_a_range_of_roots_holds_all_between_or_is_refused(first: int, last: int) -> None:
    roots = parse_roots(f"{SEGMENTS[first].upper()}–{SEGMENTS[last].upper()}")

    if first < last:
        assert roots is not None
        assert roots.all == SEGMENTS[first : last + 1]
    else:
        assert roots is None


FILES = ("game.toml", "map/tiers.csv", "map/links.csv", "map/lesions.csv", "deck.csv", "map.xlsx")
NOISE = st.binary(max_size=200) | st.text(max_size=80).map(
    lambda text: text.encode("utf-8", "replace")
)
PIECES = (
    *(b"tier", b"name", b"from", b"to", b"l4", b"L4", b"5-May", b"map", b"wild:any", b"muscle"),
    *(b",", b";", b"\n", b"\r", b'"', b"[", b"]", b"=", b"@1", b">", b"-", b" ", b"#"),
    *(b"\xff", b"\xe9"),
)
GRAMMAR = st.lists(st.sampled_from(PIECES), max_size=40).map(b"".join)


TEACHERS = st.lists(st.sampled_from((*PIECES, b"femoral", b"L2-L4", b"(L4)")), max_size=30).map(
    lambda pieces: b"muscle,nerve,roots\n" + b"".join(pieces)
)


def _fill(root: Path, files: Mapping[str, bytes]) -> None:
    for name, content in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(content)


@SOME
@given(st.dictionaries(st.sampled_from(FILES), NOISE | GRAMMAR, max_size=6))
@example({"game.toml": b"a = " + b"[" * 5000})
@example({"game.toml": b"a = " + b"1" * 5000})
@example({"map.xlsx": b"PK\x03\x04" + b"\x00" * 60, "game.toml": b""})
def test_random_bytes_raise_nothing_but_our_own_error(files: dict[str, bytes]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        _fill(root, files)

        try:
            faults = read_folder(root).faults
        except NervureError as problem:
            faults = getattr(problem, "faults", ())
            assert faults

        assert all(fault.message for fault in faults)
        assert {path.name: path.read_bytes() for path in root.rglob("*") if path.is_file()} == {
            Path(name).name: content for name, content in files.items()
        }


@SOME
@given(NOISE | GRAMMAR | TEACHERS, st.sampled_from(["table.csv", "table.xlsx"]))
@example(b"muscle,nerve,roots\n,,\n", "table.csv")
@example(b"muscle,nerve,roots\nvariant,nerve,L9\nroot,l4 l4,\n", "table.csv")
@example(b"target,through,origins\n1,root,root\n", "table.csv")
def test_a_project_started_from_any_bytes_reads_back_or_says_why_not(
    content: bytes, name: str
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder) / name
        table.write_bytes(content)

        try:
            project = start_from_table(Path(folder) / "new", table)
        except NervureError:
            assert not (Path(folder) / "new").exists()
        else:
            read_map(project.project / "map")
            read_folder(project.project)
