"""What the verbs that report something share."""

import argparse
from pathlib import Path


def add_clinic(parser: argparse.ArgumentParser) -> None:
    """The clinic, where there are several."""
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def add_files(parser: argparse.ArgumentParser, **files: str) -> None:
    """Files to write, each with what goes into it."""
    for kind, about in files.items():
        parser.add_argument(f"--{kind}", type=Path, metavar="FILE", help=about)


def write(path: Path, content: bytes | str) -> None:
    """A finished file in one go: it is there whole or not at all. Raises RefusedError naming it."""
    import tempfile  # noqa: PLC0415 - see the package

    from bot.errors import RefusedError  # noqa: PLC0415 - the same

    raw = content.encode() if isinstance(content, str) else content
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as beside:
            try:
                beside.write(raw)
                beside.flush()
                Path(beside.name).replace(path)
            except OSError:
                Path(beside.name).unlink(missing_ok=True)
                raise
    except OSError as error:
        raise RefusedError(f"{path}: cannot be written ({error.strerror})") from None


def show(args: argparse.Namespace, *, discharge: bool) -> int:
    """A review or discharge summary: printed, and written to the files that were asked for."""
    from bot.commands import house, prescriptions  # noqa: PLC0415 - see the package
    from bot.reports import documents, paper, summary  # noqa: PLC0415 - the same
    from bot.reports.words import words  # noqa: PLC0415 - the same
    from bot.service import reporting as reports  # noqa: PLC0415 - the same

    say = words("en")
    with house.database() as (begin, clock):
        about = reports.about(begin, clock, args.clinic, args.client, args.on)
    if discharge:
        about = reports.discharged(about, args.maintenance, args.until, args.owner)
    if args.pdf:
        write(args.pdf, paper.summary_pdf(about, say))
    if args.csv:
        write(args.csv, documents.summary_csv(about))
    if args.json:
        prescriptions.print_json(documents.summary(about))
    else:
        print(summary.text(summary.page(about, say)))
    return 0
