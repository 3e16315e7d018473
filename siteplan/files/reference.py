"""Which kinds of feature, settings and materials are there, as tables for the README?

Markdown, made from the same records' fields that the reader uses.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from siteplan.files.constant_tables import read_materials
from siteplan.files.drawing.kinds import KINDS, Kind
from siteplan.files.schema import as_written
from siteplan.files.site_toml.settings import LISTS, MAY_LACK, TABLES, TOP, Settings
from siteplan.land.constants import Material
from siteplan.land.layers import LayerSpec
from siteplan.land.nested import Several
from siteplan.land.record import Field, Record, fields_of
from siteplan.land.walls import PieceOffer

_MEANINGS = "a kind of feature, `surface:grass` and the like, `keepout:reason`, or `ignore`"
_TOUCHES = {"roots": "among roots", "below": "below roots", "ground": "on the ground", "nothing": "in no bed"}
_DRAWN = {"Polygon": "polygon", "LineString": "line", "Point": "point"}


def kinds_table() -> str:
    """Return a Markdown table of the kinds of feature with their properties."""
    rows: list[tuple[str, ...]] = []
    for name, kind in KINDS.items():
        drawn = " or ".join(_DRAWN[shape] for shape in kind.shapes)
        drawn += ", exactly one" if name == "boundary" else ""
        rows += _rows((f"**{name}**", drawn), list(_properties(kind)) or [("", "", "", "")])
        for field in kind.fields.values():
            if isinstance(field.rule, Several):
                rows += _rows((f"each of `{field.name}`", ""), _keys(field.rule.record))
    return _markdown(("kind", "drawn as", "property", "may be", "where left out", "meaning"), rows)


def settings_table() -> str:
    """Return a Markdown table of the tables of site.toml with their keys."""
    rows = _rows(("at the top",), _keys(Settings, TOP))
    for name, records in TABLES.items():
        rows += _rows((f"`[{name}]`",), [row for record in records for row in _keys(record)])
    rows += _rows(("each of `layers`",), _keys(LayerSpec))
    for name, record in LISTS.items():
        rows += _rows((f"`[[{name}]]`",), _keys(record))
    rows += _rows(("`[[offer]]` by the piece",), _keys(PieceOffer))
    rows += [("`[rename.keys]`", "their name", "a property of features", "", "of a property in other people's data")]
    rows += [("`[rename.kinds]`", "their name", _MEANINGS, "", "of a kind in other people's data")]
    return _markdown(("table", "key", "may be", "where left out", "meaning"), rows)


def materials_table() -> str:
    """Return a Markdown table of the materials that need no [[material]] table of one's own."""
    rows: list[tuple[str, ...]] = [
        (
            material.name,
            "yes" if material.coarse_organic else "",
            _TOUCHES[material.touches],
            f"{material.density:,.0f}",
            f"{material.settling_first:.0%}",
        )
        for material in read_materials().values()
    ]
    heads = ("material", "counts as coarse organic", "may lie", "kg/m³ moist, loose", "sinks in the first year")
    return _markdown(heads, rows)


def _properties(kind: Kind) -> Iterator[tuple[str, ...]]:
    for name, field in kind.fields.items():
        alternatives = "".join(f", or {alternative}" for key, alternative in kind.or_else if key == name)
        yield _row(field, required=name in kind.required or bool(alternatives), others=alternatives)


def _keys(record: type[Record], names: Iterable[str] | None = None) -> list[tuple[str, ...]]:
    may_lack = {*MAY_LACK.get(record, ())} | ({*fields_of(Material)} - {"name"} if record is Material else set())
    fields = [field for name, field in fields_of(record).items() if names is None or name in names]
    return [_row(field, required=field.required and field.name not in may_lack) for field in fields]


def _row(field: Field, *, required: bool, others: str = "") -> tuple[str, ...]:
    """Return the cells of a field: its name, its range, its default and its meaning."""
    default = as_written(field)
    shown = "" if default is None else _plain(default)
    absent = f"**required**{others}" if required else shown
    span = "a list of layers" if field.name == "layers" else "month-day"
    span = span if field.rule is None else field.rule.span
    return f"`{field.name}`", span, absent, field.meaning


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:g}" if isinstance(value, float) else str(value)


def _rows(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Return rows that share their first cells, which only the first row shows."""
    return [(*(head if index == 0 else ("",) * len(head)), *row) for index, row in enumerate(rows)]


def _markdown(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(line.replace("|  ", "| ").replace("|  ", "| ") for line in lines) + "\n"
