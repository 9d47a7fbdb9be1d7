"""`hingeline report`: a visit on paper."""

from __future__ import annotations

from pathlib import Path

import click

from hingeline.cli.completing import visits
from hingeline.cli.screen import Screen, command


@click.command()
@click.argument("session", shell_complete=visits)
@click.option("-o", "output", type=click.Path(path_type=Path), metavar="FILE", help="The page, HTML.")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="The same as PDF, A4.")
@command
def report(*, screen: Screen, session: str, output: Path | None, pdf: Path | None) -> int:
    """Write the record of a visit: one file to keep.

    \b
    Examples:
      hingeline report "Moss Lantern"
      hingeline report "Moss Lantern@2026-05" -o lantern.html --pdf lantern.pdf

    Limits, readings, verdicts and plots, and what the rigging sheet asks for that was not measured. SESSION is an
    aircraft, for all sessions of its latest day; or AIRCRAFT@DATE; or the folder of one session. What was measured
    again has a column of its own; its empty cells are yours to fill in, and the page to sign. Chromium or WeasyPrint
    on the path makes the PDF.
    """
    from hingeline.report.closures import closure_cautions
    from hingeline.report.page import report_page
    from hingeline.report.paper import default_name, write_page, write_pdf
    from hingeline.report.results import results
    from hingeline.report.unmeasured import completeness
    from hingeline.report.visits import find
    from hingeline.storage.store import default_root

    screen.passing("Reading the sessions and drawing the plots ...")
    visit = results(find(default_root(), session, screen.say))
    closures = closure_cautions(default_root(), visit)
    page = report_page(visit, closures)
    complete = completeness(visit)
    screen.say("\n  ".join([complete.text, *map(": ".join, complete.by_surface)]))
    path = output or default_name(visit.aircraft, visit.day)
    write_page(path, page)
    screen.say("One file, to be opened in any browser; printed, it fits A4 and Letter.")
    if pdf is not None:
        screen.passing("Making the PDF ...")
        write_pdf(pdf, page)
    written = [str(one) for one in (path, pdf) if one is not None]
    screen.data(
        "\n".join(written),
        file=str(path),
        pdf=None if pdf is None else str(pdf),
        aircraft=visit.aircraft,
        day=visit.day,
        readings=len(visit.rows),
        inside=sum(row.left.inside for row in visit.rows),
        not_measured=None if complete.unmeasured is None else [one._asdict() for one in complete.unmeasured],
        cautions=(*visit.cautions, *closures),
    )
    return 0
