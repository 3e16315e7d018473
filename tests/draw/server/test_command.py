"""`siteplan draw` from start to end, in a process of its own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path
from urllib.error import HTTPError

import pytest

ROOT = Path(__file__).parents[3]


def test_it_starts_a_new_property_says_its_address_and_ends_with_ctrl_c(tmp_path):
    command = [sys.executable, "-m", "siteplan", "draw", "new-yard", "--no-browser"]
    with subprocess.Popen(
        command, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True, start_new_session=True,
    ) as started:  # fmt: skip
        try:
            said = [started.stdout.readline().strip() for _ in range(3)]
            assert said[0] == "To draw new-yard, open this address in a browser on this machine:"
            assert said[1].startswith("http://127.0.0.1:")
            assert "Ctrl-C" in said[2]
            with pytest.raises(
                HTTPError, match="403"
            ):  # it answers; without the cookie of a browser nothing is shown
                urllib.request.urlopen(said[1], timeout=20)  # noqa: S310  # of this very server
            started.send_signal(signal.SIGINT)
            out, err = started.communicate(timeout=20)
        finally:
            started.kill()
    assert (started.returncode, err) == (0, "")
    assert out.strip() == "The page is closed. All that was drawn is saved."
    assert sorted(one.name for one in (tmp_path / "new-yard").iterdir() if not one.name.startswith(".")) == [
        "features.geojson",
        "site.toml",
    ]
