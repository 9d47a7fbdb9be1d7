"""Write the record of a session: one file to keep.

\b
Examples:
  hingeline report "Moss Lantern"
  hingeline report "Moss Lantern@2026-05" -o lantern.html --pdf lantern.pdf

It holds limits, readings, verdicts and plots, and what the rigging sheet asks for that was not measured. SESSION is an
aircraft, for its latest session; or AIRCRAFT@DATE; or the folder of a session, or the file of a run. A further column
has what was measured again. Fill in its empty cells by hand, and sign the page. Chromium or WeasyPrint on the path
makes the PDF.
"""

from pathlib import Path

import click

from hingeline.cli.command import command
from hingeline.cli.completing import sessions
from hingeline.cli.screen import Screen
from hingeline.storage.store import default_root


@command("Records")
@click.argument("session", shell_complete=sessions)
@click.option("-o", "output", type=click.Path(path_type=Path), metavar="FILE", help="Write the HTML page to this file.")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Also write the page as PDF, A4.")
def report(screen: Screen, session: str, output: Path | None, pdf: Path | None) -> None:
    from hingeline.report.drift_checks import drift_cautions
    from hingeline.report.page import report_page
    from hingeline.report.paper import default_name, write_page, write_pdf
    from hingeline.report.results import read_session
    from hingeline.report.unmeasured import completeness
    from hingeline.storage.sessions import find

    screen.passing("Reading the runs and drawing the plots ...")
    results = read_session(find(default_root(), session, screen.say))
    drift = drift_cautions(default_root(), results)
    page = report_page(results, drift)
    complete = completeness(results)
    screen.say("\n  ".join([complete.text, *map(": ".join, complete.by_surface)]))
    path = output or default_name(results.aircraft, results.day)
    write_page(path, page)
    screen.say("One file, to be opened in any browser; printed, it fits A4 and Letter.")
    if pdf is not None:
        screen.passing("Making the PDF ...")
        write_pdf(pdf, page)
    written = [str(file) for file in (path, pdf) if file is not None]
    screen.data(
        "\n".join(written),
        file=str(path),
        pdf=None if pdf is None else str(pdf),
        aircraft=results.aircraft,
        session=results.name,
        day=results.day,
        readings=len(results.rows),
        inside=sum(row.as_left.inside for row in results.rows),
        not_measured=None if complete.unmeasured is None else [position._asdict() for position in complete.unmeasured],
        cautions=(*results.cautions, *drift),
    )
