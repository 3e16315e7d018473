"""What is said about the prices of the fill: the total, the savings, the offers and what nobody offers?

Text for the terminal, the map and the work sheet, with volumes in the unit in which they are sold. What is bought is
decided in `siteplan.fill`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from siteplan.fill.buying_programme import tolerated
from siteplan.fill.fill_results import Alternative, FillPlan, PurchaseLine
from siteplan.land.unit_sizes import CUBIC_FOOT, CUBIC_YARD
from siteplan.land.units import System
from siteplan.say.figures import plural
from siteplan.say.fill_cautions import WHY_LACKING
from siteplan.say.phrases import fill_phrase, listed, with_capital

if TYPE_CHECKING:
    from siteplan.records import Answers


def price_sentences(plan: Answers) -> list[str]:
    """Return sentences on the cost, on what is saved against alternatives, and on what has no price."""
    fill, currency = plan.fill, plan.site.currency
    if fill is None or not fill.layers:
        return []
    if fill.price is None:
        sentences = [f"No total: {_lacks(plan, fill)}."]
    elif fill.lacking:
        sentences = [f"Total {fill.price:,.2f} {currency} for the rest, but {_lacks(plan, fill)}."]
    elif not fill.purchase:
        sentences = ["Nothing to buy: all of it is on hand."]
    else:
        sentences = [f"Total {fill.price:,.2f} {currency}."]
    if fill.price is not None and fill.purchase:
        sentences += _savings(fill, currency)
    return sentences


def offer_text(line: PurchaseLine, units: System) -> str:
    """Return an offer in words; empty if there is none.

    Examples
    --------
    >>> yard = PurchaseLine(material="topsoil", kind="loose", count=1, volume=0.76, cost=83, size=0.764554857984)
    >>> offer_text(yard, "imperial")
    '1 yd³ loose, delivered'
    """
    if line.kind == "none":
        return ""
    size = _size_text(line.size, units)
    way = {"bag": f"bag of {size}", "loose": f"{size} loose, delivered", "fetch": f"{size} loose, fetched"}
    return f"{line.name}: {way[line.kind]}" if line.name else way[line.kind]


def _size_text(volume: float, units: System) -> str:
    if units == "metric":
        return f"{volume * 1000:.4g} L" if volume < 0.2 else f"{volume:.4g} m³"
    if volume < 0.2:
        return f"{volume / CUBIC_FOOT:.4g} ft³"
    return f"{volume / CUBIC_YARD:.4g} yd³"


def why_text(line: PurchaseLine, units: System) -> str:
    """Return why a material cannot be had; empty if it can."""
    return "" if line.why is None else fill_phrase(WHY_LACKING[line.why.code], dict(line.why.figures), units)


def but_text(alternative: Alternative) -> str:
    """Return what an alternative lacks; empty if it lacks nothing."""
    if not alternative.lacking:
        return ""
    names = listed(alternative.lacking)
    if alternative.total_cost is not None:
        return f"without {names}, which cannot be had"
    if alternative.too_much:
        return "is not possible: it does not fit into the storage"
    way = (
        {"all bagged": " in bags", "all loose": " loose"}.get(alternative.name, "")
        if alternative.only_this_way
        else ""
    )
    return f"is not possible: no offer has {names}{way}"


def _lacks(plan: Answers, fill: FillPlan) -> str:
    """Return which materials are neither on hand nor on offer, grouped by reason."""
    reasons: dict[str, list[str]] = {}
    for line in fill.purchase:
        if line.why is not None:
            reason = "" if line.why.code == "no-offer" else why_text(line, plan.site.units)
            reasons.setdefault(reason, []).append(line.material)
    return "; ".join(
        f"{listed(names)}: {reason}" if reason else f"nobody offers {listed(names)}"
        for reason, names in reasons.items()
    )


def _savings(fill: FillPlan, currency: str) -> list[str]:
    """Return what the plan saves against each alternative, and which alternatives are impossible."""
    savings = [
        f"{alternative.saving:,.2f} {currency} against {_against(alternative)}"
        for alternative in fill.alternatives
        if alternative.saving is not None and alternative.saving > 0.005
    ]
    sentences = [f"Buying it this way saves {listed(savings)}."] if savings else []
    sentences += [_no_saving(alternative, currency) for alternative in fill.alternatives]
    return [sentence for sentence in sentences if sentence]


def _no_saving(alternative: Alternative, currency: str) -> str:
    """Return what an alternative costs that is impossible or not dearer; empty if the plan saves against it."""
    way, cost, saving = _way(alternative), alternative.total_cost, alternative.saving
    if cost is None:
        return f"{way} {but_text(alternative)}."
    if saving is None:
        return f"{way} it would cost {cost:,.2f} {currency}{_but(alternative)}."
    if saving < -0.005:
        return f"{way} it would cost {-saving:,.2f} {currency} less{_but(alternative)}."
    return f"{way} it would cost the same{_but(alternative)}." if saving <= 0.005 else ""


def _against(alternative: Alternative) -> str:
    return "soil in place of the coarse base" if alternative.name == "no coarse layer" else alternative.name


def _way(alternative: Alternative) -> str:
    if alternative.total_cost is None:
        return with_capital(_against(alternative))
    return (
        "With soil in place of the coarse base"
        if alternative.name == "no coarse layer"
        else with_capital(alternative.name)
    )


def _but(alternative: Alternative) -> str:
    return f" ({but_text(alternative)})" if alternative.lacking else ""


def break_even_sentences(plan: Answers) -> list[str]:
    """Return, for each material sold bagged and loose, from how many bags on loose is cheaper."""
    fill, units = plan.fill, plan.site.units
    if fill is None:
        return []
    sentences = []
    for break_even in fill.break_evens:
        supplies = [supply for supply in fill.supplies if supply.material == break_even.material]
        needed = math.fsum(supply.volume for supply in supplies if not supply.at)
        if needed <= 0:
            continue
        lacking = tolerated(math.fsum(supply.volume for supply in supplies))
        count = max(1, math.ceil((needed - lacking) / break_even.bag - 1e-9))
        bag, amount = _size_text(break_even.bag, units), f"here it takes {plural(count, 'bag')}"
        if break_even.bags is None:
            verdict = f"is cheaper by the bag of {bag}, however much it is"
        elif break_even.bags == 1:
            verdict = "is always cheaper loose than by the bag"
        else:
            verdict = f"is cheaper loose from {break_even.bags:,} bags of {bag} on"
        sentences.append(f"{with_capital(break_even.material)} {verdict} ({amount}).")
    return sentences
