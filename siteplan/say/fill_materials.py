"""Which materials may be named in a site, and what is each used for?

Those of data/materials.csv and those of the site, grouped by their use in a bed.
"""

from __future__ import annotations

from collections.abc import Mapping

from siteplan.land.constants import Material

#: groups of materials, in the order in which they are listed
_COARSE = "Coarse organic, in whatever mix there is"
_BELOW = "Below the roots alone"
_ROOTS = "For roots"
_GROUND = "On the ground, as a lining"
_NOWHERE = "In no bed before it has rotted"


def material_groups(materials: Mapping[str, Material]) -> list[tuple[str, list[str]]]:
    """Return the names of materials, grouped by use; each name is in one group.

    Examples
    --------
    >>> from siteplan.files.constant_tables import read_materials
    >>> dict(material_groups(read_materials()))["Coarse organic, in whatever mix there is"]
    ['coarse organic', 'branches', 'wood chips', 'logs', 'bark mulch', 'leaves', 'straw', 'sod']
    """
    groups: dict[str, list[str]] = {name: [] for name in (_COARSE, _BELOW, _ROOTS, _GROUND, _NOWHERE)}
    of_touch = {"below": _BELOW, "roots": _ROOTS, "ground": _GROUND, "nothing": _NOWHERE}
    for name, material in materials.items():
        groups[_COARSE if material.coarse_organic else of_touch[material.touches]].append(name)
    return [(group, names) for group, names in groups.items() if names]
