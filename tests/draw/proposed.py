"""What a survey proposes for the yard, as the command writes it."""

from __future__ import annotations

import json
from pathlib import Path

from shapely import LineString, Point

from siteplan.files.reader import read_site
from siteplan.files.survey.proposals_file import FILE, proposals_document
from siteplan.land.proposals import Figure, Proposal

SOURCE = "laser survey, file of 2014-03"


def write_proposals(yard: Path) -> Path:
    """Write four proposals: eaves of the house, a taller plum, a tree and a fence that are new. Return their file."""
    site = read_site(yard)
    shapes = {one.id: one.outline for one in (*site.buildings, *site.trees)}
    house = (Figure("height", 7.05, 0.3), Figure("eaves", 4.5, 0.3))
    tree = (Figure("height", 9.0, 0.6), Figure("crown_base", 2.1, 0.5), Figure("crown_diameter", 5.0, 1.0))
    found = (
        Proposal("house", "building", True, shapes["house"], house, 812),
        Proposal("plum", "tree", True, shapes["plum"], (Figure("height", 7.6, 0.5),), 96, trees=1),
        Proposal("tree-1", "tree", False, Point(11, 4).buffer(2.5, quad_segs=4), tree, 1204, trees=1),
        Proposal("fence-1", "fence", False, LineString([(-14, 8), (4, 8.5)]), (Figure("height", 1.83, 0.15),), 61),
    )
    path = yard / "heights" / FILE
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(proposals_document(found, site, SOURCE, {one.id: "" for one in found})), "utf-8")
    return path
