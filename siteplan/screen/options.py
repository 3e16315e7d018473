"""Which arguments does `siteplan screen` take?

This module imports nothing heavy, since the help of every command loads it. `command` reads the arguments.
"""

from __future__ import annotations

import argparse

from siteplan.land.cores import core_count

#: the questions of a screen
QUESTIONS = ("sun", "place", "fill", "haul")


def add_options(command: argparse.ArgumentParser) -> None:
    """Add the arguments of a screen."""
    command.add_argument(
        "lots",
        metavar="LOTS",
        help="a folder of sites, a .txt with a site's folder on each line, or a layer of lots: "
        ".gpkg, .fgb, .parquet or .geojson",
    )
    command.add_argument(
        "--out", metavar="OUT", required=True, help="the folder to write to; run again, it goes on there"
    )
    command.add_argument(
        "--settings", metavar="FILE", help="of a layer of lots: what all share (default: site.toml beside it)"
    )
    command.add_argument(
        "--layers",
        metavar="FILE",
        action="append",
        default=[],
        help="buildings, trees, fences around the lots; say it for each file",
    )
    command.add_argument("--lots", metavar="LAYER", dest="lots_layer", help="which layer of the file holds the lots")
    command.add_argument(
        "--ask", default=",".join(QUESTIONS), help=f"questions, as sun,place (default: {','.join(QUESTIONS)})"
    )
    command.add_argument(
        "--plans", default="none", help='whole plans to write: none, all, or "best 20" (default: none)'
    )
    command.add_argument("--processes", type=int, default=core_count(), help="on this machine (default: one a core)")
    command.add_argument(
        "--scheduler", metavar="ADDRESS", help="of a Dask cluster that does the work, as tcp://10.0.0.7:8786"
    )
    command.add_argument("--lot-time", default="10 min", help='most that one lot may take (default: "10 min")')
    command.add_argument("--lot-memory", default="4 GB", help='most that its process may hold (default: "4 GB")')
    command.add_argument("--json", action="store_true", help="the rows on stdout, nothing else")
    command.add_argument("--quiet", action="store_true", help="say nothing but faults")
