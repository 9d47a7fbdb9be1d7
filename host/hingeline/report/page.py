"""Pages: one self-contained HTML file each, no script, nothing fetched; the same results give the same bytes."""

from __future__ import annotations

import re
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from hingeline.advice.verdict import NO_VERDICT
from hingeline.checks.positions import NEUTRAL
from hingeline.checks.results import SettingSheet, ThrowResult
from hingeline.checks.values import Judgement
from hingeline.report.card import settings_card
from hingeline.report.compare import Comparison
from hingeline.report.overlay import overlays
from hingeline.report.plots import plots
from hingeline.report.results import Results, Row, to_minute
from hingeline.report.unmeasured import completeness
from hingeline.rig.show import CONVENTIONS
from hingeline.units import UNITS, printable
from hingeline_calibration.calibration import Calibration

NOT_A_CLEARANCE = (
    "WITHIN and MATCHED say: within the tolerance you set. They do not say whether the aircraft may fly. "
    "Before flight, check every direction from behind, saying it aloud, and take every sensor off."
)


def signed(value: float, places: int, unit: str) -> str:
    """A number with its sign, which zero has none of."""
    text = f"{value:+.{places}f}"
    return (text[1:] if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")) + unit


def unit(name: str) -> str:
    """How a unit is written behind its number."""
    return UNITS.get(name, "").replace(" ", "\N{NARROW NO-BREAK SPACE}")


def target(judgement: Judgement) -> str:
    """The target, and how far the angle may be from it."""
    return f"{signed(judgement.target, 2, '')} ±{judgement.tolerance:.2f}{unit(judgement.unit)}"


def value(judgement: Judgement) -> str:
    """The measured value in the unit of its verdict, with its 95 % reach."""
    travel, angle = judgement.travel, judgement.measured
    if judgement.unit == "mm" and travel is not None:
        return f"{signed(travel.mm, 2, unit('mm'))} ±{travel.reach_mm:.2f}"
    return f"{signed(angle.deg, 2, '°')} ±{angle.reach_deg:.2f}"


def side(what: str) -> str:
    """A side, or two, with a proper minus at which no line ends."""
    return what.replace(" - ", "\N{NO-BREAK SPACE}\N{MINUS SIGN}\N{NO-BREAK SPACE}")


def prose(text: str) -> Markup:
    """Escape words, with what stands between backticks set as what is typed."""
    return Markup(re.sub("`([^`]+)`", r"<code>\1</code>", str(escape(text))))


def verdict(judgement: Judgement) -> Markup:
    """The word, the gap, and whether it is a close call."""
    text = Markup('<span class="word">{}</span>').format(judgement.verdict_text)
    return text + Markup('<span class="note">limit within ±</span>') if judgement.close else text


def render(template: str, **content: Any) -> bytes:
    """Fill a template; every text in it is escaped."""
    loader = PackageLoader("hingeline.report")
    environment = Environment(loader=loader, autoescape=True, undefined=StrictUndefined)
    environment.globals.update({each.__name__: each for each in (signed, unit, target, value, side, prose, verdict)})
    style = Markup((files("hingeline.report") / "templates" / "style.css").read_text("utf-8"))
    return environment.get_template(template).render(style=style, **content).encode()


def report_page(results: Results, cautions: tuple[str, ...] = ()) -> bytes:
    """Make the report of a session, with cautions beside those of its own runs."""
    complete = completeness(results)
    known = complete.unmeasured is not None
    beyond = [(each, result) for each in results.checks.values() for result in each.results if not result.inside]
    wrong_way = [each for each in results.directions if not each.inside]
    todo = _todo(results)
    is_within = known and not (complete.unmeasured or todo or beyond or wrong_way or results.settings or cautions)
    return render(
        "report.html.j2",
        title=f"{results.aircraft}, rigging record of {results.day}",
        results=results,
        is_within=is_within,
        card=settings_card(results),
        sum=f"{_sum(results)} {complete.text}" if known else _sum(results),
        unmeasured=list(complete.by_surface),
        todo=todo,
        beyond=beyond,
        wrong_way=wrong_way,
        doubts=cautions,
        cautions=(*results.cautions, *cautions, *([] if known else [complete.text]), NOT_A_CLEARANCE),
        plots=plots(results),
        details=_details(results),
    )


def compare_page(comparison: Comparison) -> bytes:
    """Make the page of what moved from session to session, or differs between two aircraft."""
    first, last = comparison.heads[0], comparison.heads[-1]
    cautions = dict.fromkeys(caution for session in comparison.sessions for caution in session.cautions)
    how_many = f"{len(comparison.moved)} of {len(comparison.changes)} values"
    return render(
        "compare.html.j2",
        title=f"{first} and {last}" if comparison.is_pair else f"{comparison.new.aircraft}, {first} to {last}",
        kind="Two aircraft of a pair" if comparison.is_pair else f"What moved from {first} to {last}",
        heads=(first, last),
        comparison=comparison,
        sum=f"{how_many} {'differ by more than' if comparison.is_pair else 'have moved beyond'} the uncertainty.",
        cautions=(*cautions, NOT_A_CLEARANCE),
        plots=overlays(comparison),
    )


def _todo(results: Results) -> list[Row]:
    """What is outside and no setting sheet cures; left against right only where no advice on one of the sides does."""
    turned = set()
    for result in (result for recorded in results.runs for result in recorded.results):
        if isinstance(result, ThrowResult):
            turned.discard(result.surface)  # read after the sheet, which knows nothing of it
        elif isinstance(result, SettingSheet) and result in results.settings:
            turned.add(result.surface)
    outside = [
        row
        for row in results.rows
        if not row.as_left.inside
        and (row.surface not in turned or row.position == NEUTRAL or row.as_left.verdict == NO_VERDICT)
    ]
    advised = {(row.surface, row.position) for row in outside if row.as_left.advice}
    return [row for row in outside if row.as_left.advice or (row.surface, row.position) not in advised]


def _sum(results: Results) -> str:
    readings = [row.as_left.inside for row in results.rows]
    checks = [result.inside for check in results.checks.values() for result in check.results]
    parts = [
        f"{sum(inside)} of {len(inside)} {words}"
        for inside, words in (
            (readings, "readings are within the tolerance you set"),
            (checks, "further checks within their limit"),
        )
        if inside
    ]
    return "; ".join(parts) + "." if parts else "Directions only."


def _details(results: Results) -> list[tuple[str, str]]:
    readings = [judgement for row in results.rows for judgement in row.readings]
    conventions = {judgement.travel.convention for judgement in readings if judgement.travel}
    datums = []
    if results.datum:
        tilt = results.datum.table_tilt_deg
        level = "" if tilt is None else f"; the flat was tilted {tilt:.2f}°, which reversal took out"
        datums = [("Datum", f"{to_minute(results.datum.date)} UTC{level}")]
    runs = [each.run for each in results.runs]
    return [
        ("Signs", "Trailing edge up is +, of a rudder left. Left and right as seen from behind."),
        ("±", "Holds the true value with 95 %. Behind a target: the limit, as the rigging sheet sets it."),
        *(("mm measured by", CONVENTIONS.get(name, name)) for name in sorted(conventions)),
        *((printable(f"Sensor {name}"), _sensor_text(results, each)) for name, each in results.calibrations.items()),
        *datums,
        ("Session", results.name),
        ("Runs", "; ".join(f"{run.name} ({run.started[11:16]} UTC)" for run in runs)),
        ("Recorded by", f"hingeline {', '.join(dict.fromkeys(run.tool_version for run in runs))}"),
    ]


def _sensor_text(results: Results, calibration: Calibration) -> str:
    at = "" if calibration.temperature_c is None else f" at {calibration.temperature_c:.1f} °C"
    used_c = results.range_c(calibration.sensor_id)
    now = "" if used_c is None else "; {:.1f} to {:.1f} °C in this session".format(*used_c)
    poor = f"; kept although it is poor: {', '.join(calibration.poor)}" if calibration.poor else ""
    return printable(
        f"{calibration.chip}, calibrated {calibration.date[:10]}{at} from {len(calibration.poses)} poses by "
        f"hingeline {calibration.tool_version}, residual {calibration.residual_mg:.2f} mg (noise "
        f"{calibration.noise_mg:.2f} mg){now}{poor}"
    )
