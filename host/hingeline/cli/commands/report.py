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


@command("Records")
@click.argument("session", shell_complete=sessions)
@click.option("-o", "output", type=click.Path(path_type=Path), metavar="FILE", help="Write the HTML page to this file.")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Also write the page as PDF, A4.")
def report(screen: Screen, session: str, output: Path | None, pdf: Path | None) -> None:
    from hingeline.report.keep import keep_report
    from hingeline.report.paper import write_pdf

    screen.passing("Reading the runs and drawing the plots ...")
    kept = keep_report(session, screen.say, output)
    results, complete = kept.results, kept.complete
    screen.say("One file, to be opened in any browser; printed, it fits A4 and Letter.")
    if pdf is not None:
        screen.passing("Making the PDF ...")
        write_pdf(pdf, kept.page)
    written = [str(file) for file in (kept.path, pdf) if file is not None]
    screen.data(
        "\n".join(written),
        file=str(kept.path),
        pdf=None if pdf is None else str(pdf),
        aircraft=results.aircraft,
        session=results.name,
        day=results.day,
        readings=len(results.rows),
        inside=sum(row.as_left.inside for row in results.rows),
        not_measured=None if complete.unmeasured is None else [position._asdict() for position in complete.unmeasured],
        cautions=(*results.cautions, *kept.drift),
    )
