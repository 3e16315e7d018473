"""Which options does `siteplan screen` take?

This module imports nothing heavy, since every command loads it. `command` reads the values.
"""

from __future__ import annotations

import argparse

from siteplan.land.cores import core_count

#: the questions of a screen
QUESTIONS = ("sun", "place", "fill", "haul")


def add_options(command: argparse.ArgumentParser) -> None:
    """Add the options of `siteplan screen`."""
    command.add_argument(
        "lots",
        metavar="LOTS",
        help="a folder that holds sites, a .txt file with a site's folder on each line, or a file of lots: "
        ".gpkg, .fgb, .parquet or .geojson",
    )
    command.add_argument(
        "--out", metavar="OUT", required=True, help="the folder to write to; a later run goes on there"
    )
    command.add_argument(
        "--settings", metavar="FILE", help="settings that all lots of a file share (default: site.toml beside it)"
    )
    command.add_argument(
        "--layers",
        metavar="FILE",
        action="append",
        default=[],
        help="a file of buildings, trees or fences around the lots; give it once for each file",
    )
    command.add_argument(
        "--lots", metavar="LAYER", dest="lots_layer", help="the layer of the file that holds the lots"
    )
    command.add_argument(
        "--ask", default=",".join(QUESTIONS), help=f"the questions to answer (default: {','.join(QUESTIONS)})"
    )
    command.add_argument(
        "--plans", default="none", help='of which lots to write whole plans: none, all, or "best 20" (default: none)'
    )
    command.add_argument(
        "--processes",
        type=int,
        default=core_count(),
        help="how many work at once on this machine (default: one for each core)",
    )
    command.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="address of a Dask cluster that does the work, such as tcp://10.0.0.7:8786",
    )
    command.add_argument("--lot-time", default="10 min", help='longest time for one lot (default: "10 min")')
    command.add_argument("--lot-memory", default="4 GB", help='most memory for one lot (default: "4 GB")')
    command.add_argument("--json", action="store_true", help="print only the rows, as JSON")
    command.add_argument("--quiet", action="store_true", help="print only faults")
