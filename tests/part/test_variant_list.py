"""Variants as texts and as a file, and what is refused."""

import pytest

import fesolve
from fesolve.errors import InputError
from fesolve.part.variant_list import Wanted, check_variants, read_file, read_texts

BAR = fesolve.read_part("meshes/drawbar.toml")


def write(folder, text):
    path = folder / "variants.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_texts():
    assert read_texts(["notch_depth=12 mm", "pin_d = 20 mm; hole_d=21 mm;"]) == [
        Wanted("notch_depth 12 mm", {"notch_depth": "12 mm"}),
        Wanted("pin_d 20 mm, hole_d 21 mm", {"pin_d": "20 mm", "hole_d": "21 mm"}),
    ]


@pytest.mark.parametrize("text", ["depth", "=3 mm", "depth=", "depth=3 mm; wide"])
def test_texts_that_cannot_be_meant(text):
    with pytest.raises(InputError, match="not name=value"):
        read_texts([text])


def test_a_file(tmp_path):
    path = write(
        tmp_path,
        '[[variant]]\nname = "shallow"\nset = {notch_depth = "12 mm", wood.grain = "3 deg", margin = 2}\n'
        '[[variant]]\nset = {"wood.species" = "Ash, white"}\n',
    )
    assert read_file(path) == [
        Wanted("shallow", {"notch_depth": "12 mm", "wood.grain": "3 deg", "margin": "2"}),
        Wanted("wood.species Ash, white", {"wood.species": "Ash, white"}),
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("variant = 3", "no list of variants"),
        ("a = 1", "no list of variants"),
        ("[[variant]]\nname = 'a'", "has a name and what it sets"),
        ("[[variant]]\nset = {}", "sets nothing"),
        ("[[variant]]\nset = {a = [1]}", "not given a quantity"),
        ("[[variant]]\nname = 3\nset = {a = '1 mm'}", "A name is a text"),
        ("[[variant", "not TOML"),
    ],
)
def test_files_that_cannot_be_meant(tmp_path, text, said):
    with pytest.raises(InputError, match=said):
        read_file(write(tmp_path, text))


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="cannot be read: No such file"):
        read_file(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ([], "nothing to compare"),
        ([Wanted("a", {"notch_deep": "1 mm"})], 'Nearest: "notch_depth"'),
        ([Wanted("a", {"push": "1 N"}), Wanted("a", {"push": "2 N"})], 'Two variants are called "a"'),
        ([Wanted("as it stands", {"push": "1 N"})], "Two variants are called"),
        ([Wanted(str(n), {"push": f"{n} N"}) for n in range(101)], "101 variants; at most 100"),
    ],
)
def test_variants_that_are_refused_before_anything_is_run(wanted, said):
    with pytest.raises(InputError, match=said):
        check_variants(BAR, wanted)
