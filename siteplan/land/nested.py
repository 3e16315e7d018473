"""What is allowed in a value that holds several others: corners of an outline, or records?

Markers as in land/values.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.land.values import Rule, shown


@dataclass(frozen=True)
class Ring(Rule):
    """An outline; a file gives its corners as GeoJSON has them."""

    span = "a list of corners [x, y]"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        sound = type(value).__name__ == "Polygon"  # shapely is not loaded for those who ask for help alone
        return "" if sound else f"{name} is {shown(value)}, must be a polygon"


@dataclass(frozen=True)
class Several(Rule):
    """Records of one kind in their order; a file gives them as a list of tables, or as the same in a text of JSON.

    Attributes
    ----------
    record : type
    one : str
        What one of them is called.
    example : str
        A list as a file has it.
    """

    record: type
    one: str
    example: str

    @property
    def span(self) -> str:
        """What it may be, as a reference lists it."""
        return f"a list of {self.one}s"

    def fault(self, value: object, name: str) -> str:
        """Return what is wrong with a value."""
        sound = isinstance(value, tuple) and all(isinstance(item, self.record) for item in value)
        return "" if sound else f"{name} is {shown(value)}, must be a tuple of {self.record.__name__}"
