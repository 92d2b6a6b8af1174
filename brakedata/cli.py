"""The command line: ``brakedata check``, ``schedule``, ``comebacks``, ``share`` and ``lab``.

Exit status: 0 done; 1 done, but some records could not be used (they are listed); 2 nothing could be done, with one
sentence saying why and what to do.
"""

import sys
from pathlib import Path

import click

DONE, SOME_LEFT_OUT, NOTHING_DONE = 0, 1, 2
MOST_SENTENCES = 20
"""Findings about forecasts that a schedule lists; behind more of them the questions stand once more."""
LONGEST_SENTENCE = 2_000
"""Letters; only a text taken from the records makes one longer."""


class _Steps:
    """Says on the terminal's error stream what is being done, one line, replaced by the next."""

    def __init__(self):
        self.shown = sys.stderr.isatty()

    def __call__(self, text):
        if self.shown:
            click.echo(f"\r\x1b[K{text} ...", err=True, nl=False)

    def end(self):
        if self.shown:
            click.echo("\r\x1b[K", err=True, nl=False)


class _OneSentence(click.Group):
    """Turns every failure into one sentence and exit status 2."""

    def main(self, *args, **kwargs):
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(encoding="utf-8", errors="replace")
        return super().main(*args, **kwargs)

    def invoke(self, ctx):
        from brakedata.findings import RecordsError, legible

        try:
            return super().invoke(ctx)
        except RecordsError as problem:
            click.echo(f"brakedata: {legible(problem, LONGEST_SENTENCE)}", err=True)
        except click.UsageError as problem:
            command = problem.ctx.command_path if problem.ctx else "brakedata"
            click.echo(f"brakedata: {problem.format_message().rstrip('.')}: {command} --help says how.", err=True)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except MemoryError:
            click.echo("brakedata: the records do not fit into this computer's memory: split them by year or site.", err=True)
        except Exception as problem:  # a defect of ours must not end in a bare traceback
            click.echo(
                f"brakedata: something went wrong inside the program ({type(problem).__name__}: {legible(problem)}): "
                "please report it with the command you typed.",
                err=True,
            )
        ctx.exit(NOTHING_DONE)


@click.group(cls=_OneSentence, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="brakedata")
def main():
    """Brake service records to wear rates, due windows and comebacks.

    Planning aid, not a safety inspection: the vehicle's service information and the law come first.
    """


def _by_name(_context, _parameter, records: str) -> str:
    """A folder given as ``.`` or ``..``, by its own name."""
    return str(Path(records).resolve()) if records and Path(records).name in ("", "..") else records


@main.command()
@click.argument("records", callback=_by_name)
@click.option(
    "--out", metavar="FILE", help="write the findings to FILE (.csv, .parquet or .html; .xlsx with the rows as written)"
)
def check(records, out):
    """What is wrong with RECORDS (a folder, a workbook, or any file of your own), row by row.

    Of a file of your own it says first what each column is taken for, and what must be answered.
    """
    import brakedata
    from brakedata import checks, handback, lives, mapping, vins, who_is_who
    from brakedata.columns import RECORD_TABLES
    from brakedata.findings import RecordsError, join, sentence
    from brakedata.records import at_source
    from brakedata.views import records as view

    _may_write(out, records)
    steps = _Steps()
    proposal = mapping.propose(records) if mapping.foreign(records) else None
    loaded = checks.load_proposal(proposal, steps) if proposal else brakedata.load(records, steps)
    steps("cutting the readings into lives")
    try:
        cut = lives.cut(loaded)
    except RecordsError:
        cut = None
    steps("comparing visits, vehicles and odometers")
    mix_ups = who_is_who.propose(loaded, cut)
    asked = who_is_who.proposed(mix_ups)
    found = join([loaded.findings, asked] if cut is None else [loaded.findings, cut.findings, asked])
    mask = vins.mask(loaded)
    steps.end()
    for line in view.mapping_lines(proposal) if proposal else ():
        click.echo(line)
    counts = {name: len(loaded.rows_of(name)) for name in RECORD_TABLES}
    click.echo(f"{loaded.source.name}: usable rows: " + ", ".join(f"{n:,} {name}" for name, n in counts.items()))
    for line in view.ledger_lines(loaded.rows_read):
        click.echo(line)
    _summary(found)
    if out and out.lower().endswith(".xlsx"):
        click.echo(
            f"wrote {handback.write(loaded, found, out, mask)} ({len(found):,} findings, and the rows they speak of as written)"
        )
    elif out:
        _write(mask.frame(at_source(found, loaded.trail)), out, "findings")
    else:
        listed = mask.frame(at_source(found, loaded.trail))
        waits = listed["code"].eq("R74-ask")
        for _, finding in listed[~waits].iterrows():
            click.echo(sentence(finding))
        for column, count in listed[waits].groupby("column", sort=False).size().items():
            click.echo(f"R74-ask {column}: {count:,} cells wait for an answer; --out findings.xlsx lists them")
        if len(asked):
            click.echo("\nto answer what is asked, copy lines to records.toml beside the records (answer: yes, no or unknown)\n")
            click.echo(mask.text(who_is_who.answer_lines(mix_ups)))
    if proposal and proposal.questions and not out and len(found) > MOST_SENTENCES:
        click.echo("\nstill open, as above:")
        for line in view.question_lines(proposal):
            click.echo(line)
    if proposal and mapping.stopped(proposal):
        raise RecordsError(mapping.stopped(proposal))
    sys.exit(_status(found))


@main.command()
@click.argument("records", callback=_by_name)
@click.option("--as-of", metavar="DATE", help="YYYY-MM-DD; nothing dated later is used (default: the newest date)")
@click.option("--out", metavar="FILE", help="write the schedule to FILE (.csv, .xlsx, .parquet or .html)")
def schedule(records, as_of, out):
    """When each axle of RECORDS (a folder or one .xlsx workbook) next needs service."""
    import brakedata
    import brakedata.schedule
    from brakedata import track_record, vins
    from brakedata.findings import sentence
    from brakedata.shown import Shown, usual
    from brakedata.views import schedule as view
    from brakedata.views import track_record as record_view

    _may_write(out, records)
    steps = _Steps()
    made = brakedata.schedule.make(brakedata.load(records, steps), _date(as_of), steps)
    record = track_record.quick(made, steps)
    steps.end()
    mask = vins.mask(made.records)
    shown = usual(made.records)
    track = record_view.line(record, shown)
    if out:
        about = [(name, mask.text(text)) for name, text in view.about(made, record_view.line(record, Shown()))]
        _write(mask.frame(made.table), out, "schedule", about)
    else:
        click.echo(mask.text(_screen(made, shown)))
    click.echo(track)
    _summary(made.findings)
    forecasts = made.findings[~made.findings["code"].isin({*made.records.findings["code"], *made.lives.findings["code"]})]
    for _, finding in mask.frame(forecasts.head(MOST_SENTENCES)).iterrows():
        click.echo(sentence(finding))
    if len(forecasts) > MOST_SENTENCES:
        click.echo(f"... and {len(forecasts) - MOST_SENTENCES:,} more about forecasts: their codes stand in the schedule's rows")
    if len(made.findings) > len(forecasts):
        click.echo(f'to list {"the others" if len(forecasts) else "them"}: brakedata check "{records}"')
    sys.exit(_status(made.findings))


_BY = "technician, product_line, axle, wear_class, duty, season, or a part such as hub_face (default: all)"


@main.command()
@click.argument("records", callback=_by_name)
@click.option("--by", metavar="FACTOR", help=_BY)
@click.option("--within-km", metavar="N", type=float, default=10_000.0, show_default=True, help="distance that counts, km")
@click.option("--letters", is_flag=True, help="show technicians as letters")
@click.option("--out", metavar="FILE", help="write the table to FILE (.csv, .xlsx, .parquet or .html)")
def comebacks(records, by, within_km, letters, out):
    """How often a brake job of RECORDS (a folder or one .xlsx workbook) comes back, by what."""
    import brakedata
    from brakedata import comebacks, vins
    from brakedata.findings import join

    steps = _Steps()
    loaded = brakedata.load(records, steps)
    steps("linking complaints to jobs")
    linked = comebacks.find(loaded)
    linked = comebacks.as_letters(linked) if letters else linked
    steps("comparing")
    made = comebacks.rates(linked, by, within_km)
    steps.end()
    mask = vins.mask(loaded)
    if out:
        _write(mask.frame(made.table), out, "comebacks")
    else:
        click.echo(mask.text(_comebacks_screen(loaded, linked, made)))
    found = join([loaded.findings, linked.findings, made.findings])
    _summary(found)
    sys.exit(_status(found))


@main.command()
@click.argument("records", callback=_by_name)
@click.argument("out")
def share(records, out):
    """Write to OUT (a new folder) an extract of RECORDS that can be handed on: names hashed, dates moved, texts and VINs left out."""
    import brakedata
    from brakedata import share as handing_on

    folder = handing_on.empty_folder(out)
    steps = _Steps()
    loaded = brakedata.load(records, steps)
    key, new = handing_on.key_of(loaded.source)
    steps("writing the extract")
    handing_on.write(loaded, folder, key)
    steps.end()
    click.echo(
        f"wrote {folder}: names hashed, dates moved by whole weeks; VINs, descriptions, reasons, complaints, notes and costs left out;\n"
        "odometers, thicknesses, work, product lines, wear classes and duties are as they were: whoever holds the same odometers can\n"
        "find a vehicle again."
    )
    file = handing_on.key_file(loaded.source)
    click.echo(
        f"{'made' if new else 'used'} {file}, the key: keep it and never hand it on; with it next month's extract has the same names."
    )
    if _status(loaded.findings) != DONE:
        click.echo(f'rows that could not be used are not in it: brakedata check "{records}" lists them')
    sys.exit(_status(loaded.findings))


@main.command()
@click.argument("folder", required=False)
@click.option("--no-browser", is_flag=True, help="start the notebooks without opening a browser window")
def lab(folder, no_browser):
    """Open the notebooks in JupyterLab on the records in FOLDER (the demo records when none is given)."""
    from brakedata import lab as notebooks

    sys.exit(notebooks.start(folder, open_browser=not no_browser, say=click.echo))


def _date(text):
    import pandas as pd

    from brakedata.findings import RecordsError

    if text is None:
        return None
    date = pd.to_datetime(text, format="%Y-%m-%d", errors="coerce")
    if pd.isna(date):
        raise RecordsError(f"--as-of {text} is not a date: write it as YYYY-MM-DD.")
    return date


def _status(found):
    return SOME_LEFT_OUT if found["severity"].isin(("left_out", "refused")).any() else DONE


def _summary(found):
    """How many findings of which kind, on the terminal's error stream."""
    if not len(found):
        click.echo("findings: none", err=True)
        return
    counts = found.groupby(["severity", "code"], sort=True).size()
    click.echo("findings: " + "; ".join(f"{n:,} {code} ({severity})" for (severity, code), n in counts.items()), err=True)


def _may_write(out, records):
    """Refuse a FILE that cannot be written, or that is one of the records, before any work is done."""
    from brakedata import tables
    from brakedata.columns import RECORD_TABLES
    from brakedata.findings import RecordsError

    if out is None:
        return
    file, source = tables.target(out), Path(records).expanduser().resolve()
    inside = file.parent == source and file.stem.lower() in RECORD_TABLES
    if file == source or inside:
        raise RecordsError(f"{file.name} is one of the records: choose another name, they are never written over.")


def _write(frame, out, title, about=()):
    from brakedata import tables

    click.echo(f"wrote {tables.write(frame, out, title, about)} ({len(frame):,} rows)")


def _screen(made, shown) -> str:
    """The schedule as a table for the terminal in the folder's own units, with what the columns mean."""
    import pandas as pd

    t = made.table

    def at(name):
        return t[name].map(shown.distance_number)

    def day(name):
        return t[name].dt.strftime("%Y-%m-%d").fillna("")

    distance = shown.distance
    table = pd.DataFrame(
        {
            "vehicle": t["vehicle_id"].str.slice(0, 20), "axle": t["axle"],
            "first to go": (t["governing_side"] + " " + t["governing_part"]).str.strip(),
            f"{shown.thickness} now": t["thickness_mm"].map(shown.thickness_number),
            f"{distance} now": at("odometer_km"), f"due {distance}": at("due_odometer_km"),
            "early": at("due_odometer_early_km"), "late": at("due_odometer_late_km"),
            "due date": day("due_date"), "early date": day("due_date_early"), "late date": day("due_date_late"),
            "risk": [
                "" if pd.isna(due) else "no limit" if pd.isna(x) else "<1 %" if x < 0.01 else f"{100 * x:.0f} %"
                for due, x in zip(t["due_odometer_km"], t["risk_before_next_visit"], strict=True)
            ],
            "basis": t["basis"], "readings": t["readings"],
        }
    )  # fmt: skip
    head = (
        f"Brake schedule of {made.records.source.name} as of {made.as_of:%Y-%m-%d}: {len(t):,} axles, "
        f"{t['vehicle_id'].nunique():,} vehicles in service.\n"
        "due = even odds that the first lining has reached replace_at; early to late holds eight times in ten;\n"
        "risk = chance of being at or under discard_at before the next usual visit (no limit: no discard_at is recorded).\n"
        f"Distances in {distance}, thicknesses in {shown.thickness}, estimated for that day. A forecast is an estimate: inspect at every visit.\n"
    )
    return head + _plain(table)


def _comebacks_screen(records, linked, made) -> str:
    """The comebacks table for the terminal, with what the columns mean."""
    import pandas as pd

    t, shop = made.table, made.shop

    def share(chance):
        return "" if pd.isna(chance) else f"{100 * chance:.0f} %"

    shown = pd.DataFrame(
        {
            "by": t["factor"], "level": t["level"].str.slice(0, 30), "jobs": t["jobs"],
            "followed km": t["followed_km"].map(lambda x: f"{x:,.0f}"),
            "came back": t["comebacks"].astype("str").fillna(""), "risk": t["risk"].map(share), "low": t["risk_low"].map(share),
            "high": t["risk_high"].map(share), "pooled": t["pooled_risk"].map(share),
            "q": t["q_value"].map(lambda q: "" if pd.isna(q) else "<0.001" if q < 0.001 else f"{q:.3f}"),
            "findings": t["findings"],
        }
    )  # fmt: skip
    links = linked.links
    people = f"{made.people}\n" if made.people else ""
    head = (
        f"Comebacks of {records.source.name} as of {linked.as_of:%Y-%m-%d}: {len(linked.jobs):,} brake jobs, {len(links):,} "
        f"complaints that may belong to them ({links['answer'].eq('').sum():,} not yet confirmed by a person).\n"
        f"Whole shop: {share(shop['risk'])} come back within {made.within_km:,.0f} km ({share(shop['risk_low'])} to "
        f"{share(shop['risk_high'])}); {share(shop['rate_all'])} of all jobs and {share(shop['rate_seen'])} of those seen again "
        "are known to have.\n"
        "risk = chance of a comeback within the distance, low to high its 95 % limits, jobs still being watched counted as far\n"
        "as they were; pooled = drawn toward the whole shop; q = share of false alarms among levels called different at it.\n"
        f"{people}What goes together need not be cause and effect.\n"
    )
    return head + "\n" + _plain(shown)


def _plain(shown) -> str:
    """A table for the terminal, without letters that would steer it."""
    from brakedata.findings import legible

    return "\n".join(legible(line, LONGEST_SENTENCE) for line in shown.to_string(index=False).split("\n"))
