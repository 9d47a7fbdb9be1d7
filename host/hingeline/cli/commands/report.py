"""Write the record of a session: one file to keep.

\b
Examples:
  hingeline report "Moss Lantern"
  hingeline report "Moss Lantern" --open
  hingeline report "Moss Lantern@2026-05" -o lantern.html --pdf lantern.pdf

Page one says whether all is WITHIN the tolerances, and what is to do, with what the rigging sheet asks for and was not
measured. It has a settings card to cut out for the transmitter's case. SESSION is an aircraft, for its latest session;
or AIRCRAFT@DATE; or the folder of a session, or the file of a run. Fill in empty cells by hand, and sign the page.
Chromium or WeasyPrint makes the PDF.
"""

from pathlib import Path

import click

from hingeline.cli.command import command
from hingeline.cli.commands import KEEP
from hingeline.cli.completing import sessions
from hingeline.cli.screen import Screen


@command(KEEP)
@click.argument("session", shell_complete=sessions)
@click.option("-o", "output", type=click.Path(path_type=Path), metavar="FILE", help="Write the HTML page to this file.")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Also write the page as PDF, A4.")
@click.option(
    "--csv", "table", type=click.Path(path_type=Path), metavar="FILE", help="Also write every reading as CSV."
)
@click.option("--open", "opens", is_flag=True, help="Open the page in the browser.")
def report(
    screen: Screen, session: str, *, output: Path | None, pdf: Path | None, table: Path | None, opens: bool
) -> None:
    from hingeline.report.keep import keep_report
    from hingeline.report.paper import open_page, write_page, write_pdf
    from hingeline.report.table import readings_table

    screen.passing("Reading the runs and drawing the plots ...")
    kept = keep_report(session, screen.say, output)
    results, complete = kept.results, kept.complete
    screen.say("One file, to be opened in any browser; printed, it fits A4 and Letter.")
    if pdf is not None:
        screen.passing("Making the PDF ...")
        write_pdf(pdf, kept.page)
    if table is not None:
        write_page(table, readings_table(results))
    if opens:
        open_page(kept.path)
    written = [str(file) for file in (kept.path, pdf, table) if file is not None]
    screen.data(
        "\n".join(written),
        file=str(kept.path),
        pdf=None if pdf is None else str(pdf),
        csv=None if table is None else str(table),
        aircraft=results.aircraft,
        session=results.name,
        day=results.day,
        readings=len(results.rows),
        inside=sum(row.as_left.inside for row in results.rows),
        not_measured=None if complete.unmeasured is None else [position._asdict() for position in complete.unmeasured],
        cautions=(*results.cautions, *kept.drift),
    )
