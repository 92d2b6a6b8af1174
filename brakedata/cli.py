"""The command line: ``brakedata check``, ``schedule``, ``comebacks`` and ``lab``.

Exit status: 0 done; 1 done, but some records could not be used (they are listed); 2 nothing could be done, with one
sentence saying why and what to do.
"""

import sys

import click

DONE, SOME_LEFT_OUT, NOTHING_DONE = 0, 1, 2


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
        from brakedata.findings import RecordsError

        try:
            return super().invoke(ctx)
        except RecordsError as problem:
            click.echo(f"brakedata: {problem}", err=True)
        except click.UsageError as problem:
            command = problem.ctx.command_path if problem.ctx else "brakedata"
            click.echo(f"brakedata: {problem.format_message().rstrip('.')}: {command} --help says how.", err=True)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except MemoryError:
            click.echo("brakedata: the records do not fit into this computer's memory: split them by year or site.", err=True)
        except Exception as problem:  # a defect of ours must not end in a bare traceback
            click.echo(
                f"brakedata: something went wrong inside the program ({type(problem).__name__}: {problem}): "
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


@main.command()
@click.argument("records")
@click.option("--out", metavar="FILE", help="write the findings to FILE (.csv, .xlsx, .parquet or .html)")
def check(records, out):
    """What is wrong with RECORDS (a folder or one .xlsx workbook), row by row."""
    import brakedata
    from brakedata import lives
    from brakedata.columns import RECORD_TABLES
    from brakedata.findings import RecordsError, join, sentence

    _may_write(out, records)
    steps = _Steps()
    loaded = brakedata.load(records, steps)
    steps("cutting the readings into lives")
    try:
        found = join([loaded.findings, lives.cut(loaded).findings])
    except RecordsError:
        found = loaded.findings
    steps.end()
    counts = {name: len(getattr(loaded, name)) for name in RECORD_TABLES}
    click.echo(f"{loaded.source.name}: usable rows: " + ", ".join(f"{n:,} {name}" for name, n in counts.items()))
    _summary(found)
    if out:
        _write(found, out, "findings")
    else:
        for _, finding in found.iterrows():
            click.echo(sentence(finding))
    sys.exit(_status(found))


@main.command()
@click.argument("records")
@click.option("--as-of", metavar="DATE", help="YYYY-MM-DD; nothing dated later is used (default: the newest date)")
@click.option("--out", metavar="FILE", help="write the schedule to FILE (.csv, .xlsx, .parquet or .html)")
def schedule(records, as_of, out):
    """When each axle of RECORDS (a folder or one .xlsx workbook) next needs service."""
    import brakedata
    import brakedata.schedule

    _may_write(out, records)
    steps = _Steps()
    made = brakedata.schedule.make(brakedata.load(records, steps), _date(as_of), steps)
    steps.end()
    if out:
        _write(made.table, out, "schedule")
    else:
        click.echo(_screen(made))
    _summary(made.findings)
    if len(made.findings):
        click.echo(f'to list them: brakedata check "{records}"')
    sys.exit(_status(made.findings))


_BY = "technician, product_line, axle, wear_class, duty, season, or a part such as hub_face (default: all)"


@main.command()
@click.argument("records")
@click.option("--by", metavar="FACTOR", help=_BY)
@click.option("--within-km", metavar="N", type=float, default=10_000.0, show_default=True, help="distance that counts, km")
@click.option("--letters", is_flag=True, help="show technicians as letters")
@click.option("--out", metavar="FILE", help="write the table to FILE (.csv, .xlsx, .parquet or .html)")
def comebacks(records, by, within_km, letters, out):
    """How often a brake job of RECORDS (a folder or one .xlsx workbook) comes back, by what."""
    import brakedata
    from brakedata import comebacks
    from brakedata.findings import join

    steps = _Steps()
    loaded = brakedata.load(records, steps)
    steps("linking complaints to jobs")
    linked = comebacks.find(loaded)
    linked = comebacks.as_letters(linked) if letters else linked
    steps("comparing")
    made = comebacks.rates(linked, by, within_km)
    steps.end()
    if out:
        _write(made.table, out, "comebacks")
    else:
        click.echo(_comebacks_screen(loaded, linked, made))
    found = join([loaded.findings, linked.findings, made.findings])
    _summary(found)
    sys.exit(_status(found))


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
    from pathlib import Path

    from brakedata import tables
    from brakedata.columns import RECORD_TABLES
    from brakedata.findings import RecordsError

    if out is None:
        return
    file, source = tables.target(out), Path(records).expanduser().resolve()
    inside = file.parent == source and file.stem.lower() in RECORD_TABLES
    if file == source or inside:
        raise RecordsError(f"{file.name} is one of the records: choose another name, they are never written over.")


def _write(frame, out, title):
    from brakedata import tables

    click.echo(f"wrote {tables.write(frame, out, title)} ({len(frame):,} rows)")


def _screen(made) -> str:
    """The schedule as a table for the terminal, with what the columns mean."""
    import pandas as pd

    t = made.table

    def km(name):
        return t[name].map(lambda x: "" if pd.isna(x) else f"{x:,.0f}")

    def day(name):
        return t[name].dt.strftime("%Y-%m-%d").fillna("")

    shown = pd.DataFrame(
        {
            "vehicle": t["vehicle_id"].str.slice(0, 20), "axle": t["axle"],
            "first to go": (t["governing_side"] + " " + t["governing_part"]).str.strip(),
            "mm now": t["thickness_mm"].map(lambda x: "" if pd.isna(x) else f"{x:.1f}"),
            "km now": km("odometer_km"), "due km": km("due_odometer_km"),
            "early": km("due_odometer_early_km"), "late": km("due_odometer_late_km"),
            "due date": day("due_date"), "early date": day("due_date_early"), "late date": day("due_date_late"),
            "risk": t["risk_before_next_visit"].map(lambda x: "" if pd.isna(x) else "<1 %" if x < 0.01 else f"{100 * x:.0f} %"),
            "basis": t["basis"], "readings": t["readings"],
        }
    )  # fmt: skip
    head = (
        f"Brake schedule of {made.records.source.name} as of {made.as_of:%Y-%m-%d}: {len(t):,} axles, "
        f"{t['vehicle_id'].nunique():,} vehicles in service.\n"
        "due = even odds that the first lining has reached replace_at; early to late holds eight times in ten;\n"
        "risk = chance of being at or under discard_at before the next usual visit. Distances in km.\n"
        "A forecast is an estimate: inspect at every visit.\n"
    )
    return head + shown.to_string(index=False)


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
    head = (
        f"Comebacks of {records.source.name} as of {linked.as_of:%Y-%m-%d}: {len(linked.jobs):,} brake jobs, {len(links):,} "
        f"complaints that may belong to them ({links['answer'].eq('').sum():,} not yet confirmed by a person).\n"
        f"Whole shop: {share(shop['risk'])} come back within {made.within_km:,.0f} km ({share(shop['risk_low'])} to "
        f"{share(shop['risk_high'])}); {share(shop['rate_all'])} of all jobs and {share(shop['rate_seen'])} of those seen again "
        "are known to have.\n"
        "risk = chance of a comeback within the distance, low to high its 95 % limits, jobs still being watched counted as far\n"
        "as they were; pooled = drawn toward the whole shop; q = share of false alarms among levels called different at it.\n"
        "What goes together need not be cause and effect.\n"
    )
    return head + "\n" + shown.to_string(index=False)
