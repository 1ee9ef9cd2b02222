"""What a typed search means. Phone forms are checked against ITU-T E.123 ways of writing and ACMA's numbers for drama."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.search.rules import haystack, matched, phone_cores, squeezed, trigrams, understand

# 0491 570 156 is one of the mobile numbers that the Australian Communications and Media Authority keeps free for fiction.
HERE, ABROAD = haystack(["0491 570 156"]), haystack(["+61 491 570 156"])


@pytest.mark.parametrize("typed", ["0491 570 156", "0491570156", "+61 491 570 156", "+61491570156", "+61 (0)491 570 156",
                                   "0011 61 491 570 156", "(0491) 570-156", "0491.570.156", "+61 491 5", "0491 570", "491570156"])
def test_any_way_of_writing_a_phone_number_finds_every_other(typed: str) -> None:
    search = understand(typed, "AU")
    assert search.fits(HERE) and search.fits(ABROAD)


@pytest.mark.parametrize(("typed", "country"), [("+1 415 555 0132", "US"), ("1 415 555 0132", "US"), ("(415) 555-0132", "US"),
                                                ("020 7946 0958", "GB"), ("+44 20 7946 0958", "GB"), ("0044 20 7946 0958", "GB")])
def test_each_country_has_its_own_prefixes(typed: str, country: str) -> None:
    """Ofcom's 020 7946 0xxx and NANPA's 555 01xx are kept free for fiction."""
    texts = {"US": ("415-555-0132", "+1 (415) 555 0132"), "GB": ("020 7946 0958", "+44 20 7946 0958")}[country]
    assert all(understand(typed, country).fits(haystack([one])) for one in texts)


def test_another_number_is_not_found() -> None:
    assert not understand("+61 491 570 157", "AU").fits(HERE)
    assert not understand("0491 570 156", "AU").fits(haystack(["0491 570 110"]))


@pytest.mark.parametrize("typed", ["1042", "6L6GC", "12-34", "hum", ""])
def test_what_is_no_phone_number_is_not_taken_for_one(typed: str) -> None:
    assert phone_cores(typed, "AU") == ()


def test_without_a_country_digits_are_found_as_typed() -> None:
    search = understand("0491 570 156", None)
    assert search.fits(HERE) and not understand("0491570156", None).fits(ABROAD)


@pytest.mark.parametrize("typed", ["M30-0117", "m30 0117", "M300117", "m30.0117", "M 30 0117", "30-0117", "0117", "m3"])
def test_a_serial_is_found_with_and_without_its_marks(typed: str) -> None:
    assert understand(typed).fits(haystack(["Tarnholt Meridian", "M30-0117"]))


@pytest.mark.parametrize("typed", ["asa lindqvist", "Åsa", "LINDQ", "quist", "as l"])
def test_accents_and_case_do_not_matter_and_long_words_are_found_inside(typed: str) -> None:
    text = haystack(["Åsa Lindquist" if "quist" in typed else "Åsa Lindqvist"])
    assert understand(typed).fits(text)


def test_one_or_two_letters_are_looked_for_where_words_begin() -> None:
    text = haystack(["Wren Adler"])
    assert understand("w").fits(text) and understand("ad").fits(text)
    assert not understand("r").fits(text) and not understand("le").fits(text) and understand("ler").fits(text)


def test_every_word_must_be_there() -> None:
    assert understand("wren meridian").fits(haystack(["Wren Adler", "Meridian 30"]))
    assert not understand("wren meridian").fits(haystack(["Wren Adler", "Halcyon 15"]))


@pytest.mark.parametrize("typed", ["", "   ", "···", "%", "_", "'\"--"])
def test_what_holds_no_word_asks_for_nothing(typed: str) -> None:
    assert understand(typed, "AU").is_empty


def test_needles_hold_nothing_but_letters_digits_and_blanks() -> None:
    """They go into the languages of two databases: no quotation mark, percent or star may come through."""
    hostile = 'a"b* OR (c) NEAR/2 %_\\ \u0000 ﷺ ½ ² 10%'
    needles = [needle for alternative in understand(hostile, "AU").anywhere for needle in alternative]
    assert needles and all(c.isalnum() or c == " " for needle in needles for c in needle)


def test_only_one_number_is_a_number() -> None:
    assert understand("1042").number == 1042 and understand("#1042").number == 1042
    assert understand("1042 P1").number is None and understand("123456789").number is None and understand("١٢").number is None


def test_a_fingerprint_is_cut_to_what_is_kept() -> None:
    assert understand("ab12" * 16).fits(haystack(["ab12" * 4]))


def test_trigrams_and_codes() -> None:
    assert trigrams("  w") == ["  w"] and trigrams("humhum") == ["hum"] and trigrams("crackles") == ["cra", "ckl", "les"]
    assert squeezed("M30-0117") == "m300117" and squeezed("Tarnholt") == "" and squeezed("1 " * 40) == ""


def test_it_says_what_matched_and_shows_the_words_around_it() -> None:
    long = "It was fine at the last show and then began to hum loudly on the second channel after ten minutes"
    facts = [("left by", "Wren Adler"), ("complaint", long), ("serial", "M30-0117")]
    assert matched(facts, understand("hum")) == [("complaint", "… and then began to hum loudly on the second …")]
    assert matched(facts, understand("m300117")) == [("serial", "M30-0117")]
    assert matched(facts, understand("wren hum"))[0] == ("left by", "Wren Adler")


@given(st.text(min_size=1, max_size=60))
def test_whatever_is_stored_is_found_by_its_own_words(name: str) -> None:
    search = understand(name, "AU")
    assert search.is_empty or search.fits(haystack([name, "555 0142"]))


@given(st.text(min_size=1, max_size=60))
def test_no_text_makes_a_needle_that_is_not_plain(typed: str) -> None:
    assert all(c.isalnum() or c == " " for needles in understand(typed, "AU").anywhere for needle in needles for c in needle)
