"""How does a folium map become one file that needs no network?

A Map that uses only Leaflet, in a Figure that writes scripts and styles into the page and refuses unknown links.
See `siteplan.show.map.site_map` for what is drawn.
"""

from __future__ import annotations

import base64
import re
from functools import cache
from pathlib import Path
from typing import Any

import folium
from branca.element import CssLink, Element, Figure, JavascriptLink, Link
from folium.template import Template
from jinja2 import Template as PlainTemplate

from siteplan.land.errors import SitePlanError
from siteplan.say.safe_text import page_text, plain_text

#: content security policy of the page: its own scripts and pictures are allowed, requests to any server are not
_POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; "
    "img-src data: blob:{pictures}; connect-src 'none'; base-uri 'none'; form-action 'none'"
)
_REMOTE = re.compile(
    r"<(?:script|link|img|iframe)\b[^>]*?\b(?:src|href)\s*=\s*[\"']?(?!data:)[^\s\"'>]", re.IGNORECASE
)
_CSS_LINK = re.compile(r"url\(\s*['\"]?(?!data:|#)([^)'\"]+)['\"]?\s*\)")


class UnknownLinkError(SitePlanError):
    """A page would have loaded a file from outside."""


class Raw(Element):
    """A piece of a page made by the program itself; it is written unchanged, never compiled as a template."""

    _template = PlainTemplate("{{ this.content }}")

    def __init__(self, content: str, name: str) -> None:
        super().__init__()
        self._name = name
        self._id = ""
        self.content = content


class QuietFigure(Figure):
    """A page that holds all it needs.

    Parameters
    ----------
    title : str
        Any text; it is escaped.
    picture_hosts : tuple of str
        Servers that pictures may come from (those of a basemap); none by default.
    """

    _template = PlainTemplate(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="{{ this.policy }}">\n'
        '<meta name="referrer" content="no-referrer">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<title>{{ this.safe_title }}</title>\n"
        "{{ this.header.render(**kwargs) }}\n</head>\n<body>\n{{ this.html.render(**kwargs) }}\n"
        "<script>\n{{ this.script.render(**kwargs) }}\n</script>\n</body>\n</html>\n",
    )

    def __init__(self, title: str, picture_hosts: tuple[str, ...] = ()) -> None:
        super().__init__(ratio="75%")
        self.header._children.clear()  # noqa: SLF001  # its charset is in our template
        self.safe_title = page_text(plain_text(title, longest=120))
        self.policy = _POLICY.format(pictures="".join(f" {host}" for host in picture_hosts))

    def render(self, **kwargs: Any) -> str:
        """Return the page; raise UnknownLinkError if it would load a file from outside."""
        for child in list(self._children.values()):
            child.render(**kwargs)
        for part in (self.header, self.html, self.script):
            _inline(part)
        page = str(self._template.render(this=self, kwargs=kwargs))
        remote = _REMOTE.search(re.sub(r"<script\b.*?</script>", "<script></script>", page, flags=re.DOTALL))
        if remote:
            raise UnknownLinkError(
                f"the page would ask for a file from outside: {plain_text(remote[0], longest=120)}"
            )
        return page


class QuietMap(folium.Map):
    """A folium map that uses only Leaflet, sits in a QuietFigure and has a fixed name.

    Parameters
    ----------
    title : str
    simple : bool
        Whether coordinates are [y, x] in metres on a plane; if not, latitude and longitude.
    picture_hosts : tuple of str
    zooms : (float, float), optional
        Least and largest zoom; folium passes its own limits on to its tiles alone.
    options
        Options of Leaflet's map.
    """

    default_js = [("leaflet", "leaflet.js")]  # noqa: RUF012  # as folium has it
    default_css = [("leaflet_css", "leaflet.css")]  # noqa: RUF012

    _template = Template(
        """
        {% macro html(this, kwargs) %}
            <div class="folium-map" id="{{ this.get_name() }}" role="application"
                 aria-label="Map of the property"></div>
        {% endmacro %}
        {% macro script(this, kwargs) %}
            var {{ this.get_name() }} = L.map({{ this.get_name()|tojson }}, {
                center: {{ this.location|tojson }},
                crs: L.CRS.{{ this.crs }},
                ...{{ this.options|tojavascript }}
            });
        {% endmacro %}
        """,
    )

    def __init__(
        self,
        title: str,
        *,
        simple: bool = True,
        picture_hosts: tuple[str, ...] = (),
        zooms: tuple[float, float] | None = None,
        **options: Any,
    ) -> None:
        super().__init__(
            location=[0, 0],
            tiles=None,
            crs="Simple" if simple else "EPSG3857",
            attribution_control=not simple,
            **options,
        )
        if zooms is not None:
            self.options |= {"min_zoom": zooms[0], "max_zoom": zooms[1]}
        self._id = "plan"
        QuietFigure(title, picture_hosts).add_child(self)  # replaces the figure that folium made


def _inline(part: Element) -> None:
    """Replace each link, found by its key, by the content of the asset."""
    for key, child in list(part._children.items()):  # noqa: SLF001  # branca has no other way in
        if isinstance(child, Link):
            assets = leaflet_assets()
            if key not in assets:
                raise UnknownLinkError(
                    f"the page would link {plain_text(key, longest=60)!r} ({plain_text(child.url, longest=120)}); "
                    f"only {', '.join(sorted(assets))} can be written into it",
                )
            kind = "script" if isinstance(child, JavascriptLink) else "style"
            assert kind == "script" or isinstance(child, CssLink)  # noqa: S101  # branca has no third kind
            part._children[key] = Raw(element(kind, assets[key]), key)  # noqa: SLF001
        else:
            _inline(child)


def element(kind: str, content: str) -> str:
    r"""Return a script or style element, with its content escaped so that it cannot close the element early.

    Examples
    --------
    >>> print(element("script", "a = '</script>'").replace(chr(10), " "))
    <script> a = '<\/script>' </script>
    """
    safe = re.sub(r"</(script|style)", r"<\\/\1", content, flags=re.IGNORECASE)
    return f"<{kind}>\n{safe}\n</{kind}>"


@cache
def leaflet_assets() -> dict[str, str]:
    """Return Leaflet's script and its style sheet (with pictures embedded), under folium's keys."""
    from xstatic.pkg import leaflet

    folder = Path(leaflet.BASE_DIR)

    def picture(name: str) -> str:
        content = (folder / "images" / name).read_bytes()
        return "data:image/png;base64," + base64.b64encode(content).decode("ascii")

    script = re.sub(r"//# sourceMappingURL=.*", "", (folder / "leaflet.js").read_text(encoding="utf-8"))
    icons = (
        f"L.Icon.Default.mergeOptions({{iconUrl: '{picture('marker-icon.png')}', iconRetinaUrl: "
        f"'{picture('marker-icon-2x.png')}', shadowUrl: '{picture('marker-shadow.png')}'}});"
        "L.Icon.Default.imagePath = '';"
    )
    style = (folder / "leaflet.css").read_text(encoding="utf-8")
    style = _CSS_LINK.sub(
        lambda link: f"url({picture(Path(link[1]).name)})" if "images/" in link[1] else "none", style
    )
    return {"leaflet": f"{script}\n;\n{icons}", "leaflet_css": style}
