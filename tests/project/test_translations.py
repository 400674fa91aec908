"""``words/LANG.toml``: what it changes, what it leaves, and what is wrong in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from nervure import words
from nervure.errors import UnknownName, has_errors
from nervure.game import read_game, translated_game
from nervure.press import gather_deck
from nervure.press.cards import PartCard, TargetCard
from nervure.project import languages_of, read_folder, start_from_map, translated

GERMAN = """
title = "Die Beinnerven"
[tiers]
root = "Wurzel"
[structures]
l4 = "Wurzel L4"
tibial-nerve = { name = "Schienbeinnerv", short = "Tib" }
[targets]
tibialis-anterior = { name = "Vorderer Schienbeinmuskel", test = "Hackengang" }
[words]
fibres = "Faserzüge"
[texts]
"press.target" = "Ziel der Wahl"
"""


def project(folder: Path, **files: str) -> Path:
    start_from_map(folder / "p", "leg")
    for language, text in files.items():
        (folder / "p" / "words").mkdir(exist_ok=True)
        (folder / "p" / "words" / f"{language}.toml").write_text(text, "utf-8")
    return folder / "p"


def test_a_translation_changes_names_and_nothing_else(tmp_path):
    folder = read_folder(project(tmp_path, de=GERMAN))
    german = translated(folder, "de")

    names = {row.id: row.name for row in german.map.structures}
    assert folder.faults == ()
    assert (german.title, names["l4"], names["tibial-nerve"]) == (
        "Die Beinnerven",
        "Wurzel L4",
        "Schienbeinnerv",
    )
    assert {row.id: row.name for row in folder.map.structures}["l4"] != "Wurzel L4"
    assert german.map.links == folder.map.links
    assert german.map.supplies == folder.map.supplies


def test_a_translated_game_is_the_same_design(tmp_path):
    game = read_game(read_folder(project(tmp_path, de=GERMAN)))
    german = translated_game(game, "de")

    assert german.version == game.version
    assert german.copies == game.copies
    assert german.prints.partners == game.prints.partners


def test_cards_speak_the_language_asked_for(tmp_path):
    game = read_game(read_folder(project(tmp_path, de=GERMAN)))
    deck = gather_deck(translated_game(game, "de"))

    targets = {card.id: card for card in deck.cards if isinstance(card, TargetCard)}
    parts = {card.id: card for card in deck.cards if isinstance(card, PartCard)}
    assert targets["tibialis-anterior"].name == "Vorderer Schienbeinmuskel"
    assert targets["tibialis-anterior"].examined == "Hackengang"
    assert parts["tibial-nerve"].short == "Tib"
    assert deck.words["fibres"] == "Faserzüge"
    assert deck.say("press.target") == "Ziel der Wahl"
    assert deck.say("press.examined") == "geprüft"  # Nervure's own German


def test_languages_are_those_of_the_project_and_of_nervure(tmp_path):
    folder = read_folder(project(tmp_path, fr="title = 'Les nerfs'"))

    assert languages_of(folder) == ("en", "fr", "de")
    with pytest.raises(UnknownName, match="'xx' is no language"):
        translated(folder, "xx")


def test_a_language_without_texts_of_nervure_says_the_rest_in_english(tmp_path):
    game = read_game(read_folder(project(tmp_path, fr="[texts]\n'press.examined' = 'examen'")))
    deck = gather_deck(translated_game(game, "fr"))

    assert (deck.say("press.examined"), deck.say("press.target")) == ("examen", "target")


@pytest.mark.parametrize("language", [name for name in words.languages() if name != "en"])
def test_every_text_of_a_language_asks_for_no_more_than_the_english_one(language):
    english, own = words.texts(), words.texts(language)

    assert set(own) == set(english)
    for key in own:
        if own[key] != english[key]:
            assert words.fields_of(own[key]) is not None, key
            assert words.fields_of(own[key]) <= words.fields_of(english[key]), key


BAD = [
    ("german", "title = 'x'", "words/german.toml: 'german' names no language."),
    ("de", "title = ", "words/de.toml, row 1"),
    ("de", "titel = 'x'", "key titel: unknown key. Nearest: title."),
    ("de", "title = 3", "key title: '3' does not fit here. Accepted: a text"),
    ("de", "tiers = 'x'", "key tiers: 'x' does not fit here. Accepted: a table"),
    ("de", "[tiers]\nrot = 'x'", "key tiers.rot: 'rot' is nothing that can be translated."),
    ("de", "[tiers]\nroot = ''", "key tiers.root: '' does not fit here."),
    ("de", "[tiers]\nroot = ['x']", "key tiers.root: '['x']' does not fit here."),
    ("de", "[structures]\nl9 = 'x'", "key structures.l9: 'l9' is nothing"),
    ("de", "[structures]\nl4 = 4", "key structures.l4: '4' does not fit here."),
    ("de", "[structures]\nl4 = { nmae = 'x' }", "key structures.l4.nmae: 'nmae' is nothing"),
    ("de", "[structures]\nl4 = { test = 'x' }", "key structures.l4.test: 'test' is nothing"),
    ("de", "[structures]\nl4 = { name = 1 }", "key structures.l4.name: '1' does not fit here."),
    ("de", "[targets]\nnose = 'x'", "key targets.nose: 'nose' is nothing"),
    ("de", "[words]\nfiber = 'x'", "key words.fiber: 'fiber' is nothing"),
    ("de", "[texts]\n'press.nothing' = 'x'", "'press.nothing' is nothing that can be"),
    ("de", "[texts]\n'press.number' = '{nummer}'", "'{nummer}' asks for values in braces"),
    ("de", "[texts]\n'press.number' = '{copy.real}'", "asks for values in braces"),
    ("de", "[texts]\n'press.number' = '{copy:>9999999}'", "asks for values in braces"),
    ("de", "[texts]\n'press.number' = '{'", "asks for values in braces"),
    ("de", "[texts]\n'press.part' = '{0}'", "Accepted: There is none yet."),
    ("de", "[bonuses]\nx = 3", "key bonuses.x: '3' does not fit here."),
]


@pytest.mark.parametrize(("language", "text", "says"), BAD, ids=[bad[1] for bad in BAD])
def test_a_mistake_in_a_translation_is_one_fault_with_its_place(tmp_path, language, text, says):
    folder = read_folder(project(tmp_path, **{language: text}))

    (fault,) = folder.faults
    assert has_errors(folder.faults)
    assert fault.place.file == f"words/{language}.toml"
    assert says in f"{fault.place}: {fault.message}"
