"""What site.toml and beds say of walls: read, ranged and refused."""

from __future__ import annotations

import pytest

from siteplan import read_site
from siteplan.files.reader import check_site
from siteplan.land.walls import PieceOffer, WallSettings

BOARD = '[[offer]]\nmaterial = "board"\nwidth = "225 mm"\nlength = "2.4 m"\nprice = 11.5\n'


def test_all_of_it_is_read(yard):
    yard.toml += BOARD + '[[offer]]\nmaterial = "screws"\npieces = 50\nprice = "6 EUR"\nname = "shop"\n'
    yard.toml += (
        '[walls]\nkind = "masonry"\nboard_lengths = ["3 m", 2.4]\nboard_widths = "150 mm, 20 cm"\nkerf = "4 mm"\n'
    )
    yard.features["north"]["properties"]["walls"] = "timber"
    site = read_site(yard.write())
    assert site.walls == WallSettings(kind="masonry", board_lengths=(2.4, 3.0), board_widths=(0.15, 0.2), kerf=0.004)
    assert site.piece_offers == (
        PieceOffer(material="board", width=0.225, length=2.4, price=11.5),
        PieceOffer(material="screws", pieces=50, price=6.0, name="shop"),
    )
    assert {offer.material for offer in site.offers} == {"topsoil", "compost", "coarse organic", "worm castings"}
    assert [bed.walls for bed in site.beds if bed.id == "north"] == ["timber"]


def test_what_is_not_said(yard):
    site = read_site(yard.write())
    assert (site.walls, site.piece_offers) == (WallSettings(), ())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[walls]\nkind = "stone"\n', ["[walls]", "kind 'stone' is not known"]),
        ('[walls]\nboard_lengths = ["8 kg"]\n', ["[walls] board_lengths", "'8 kg' is a mass, not a length"]),
        ("[walls]\nboard_lengths = []\n", ["board_lengths is empty"]),
        ("[walls]\nboard_lengths = [30]\n", ["board_lengths", "30 m, must be above 0 and at most 20 m"]),
        ("[walls]\nblock_length = 0.4\n", ["give both block_length and block_height"]),
        ('[[offer]]\nmaterial = "board"\nprice = 3\n', ["length is missing", "width is missing"]),
        ('[[offer]]\nmaterial = "block"\nprice = 3\nlength = 1\n', ["length says nothing of block"]),
        ('[[offer]]\nmaterial = "post"\nlength = 2.4\n', ["price is missing"]),
        ('[[offer]]\nmaterial = "post"\nlength = 2.4\nprice = 3\nbag = 1\n', ["'bag' is not known"]),
    ],
)
def test_what_is_at_fault_is_told(yard, text, words):
    yard.toml += text
    faults = " ".join(str(fault) for fault in check_site(yard.write()).faults)
    assert all(word in faults for word in words), faults
