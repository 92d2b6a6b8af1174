"""Columns of repeated texts: each text once, and a code a row (pandas categories).

Millions of readings hold few distinct words: comparing whole numbers is quicker than comparing texts, and a code takes a tenth of
the memory. Every function takes plain columns of text too and gives the same answer. ``ordered`` categories are in the order of
their texts.
"""

import numpy as np
import pandas as pd

from brakedata.side_by_side import worked

MOST_ORDERED = 50_000
"""Categories that are put in order; more take longer to sort than it saves."""
_ROOM = 2**62


def from_places(place: np.ndarray, texts: pd.Series, each_once: bool = False) -> pd.Series:
    """A coded column.

    Parameters
    ----------
    place : ndarray of int, shape (rows,)
        Which of ``texts`` stands in each row.
    texts : Series of str
    each_once : bool
        Whether the texts are known to differ from one another.
    """
    if not each_once:
        code, distinct = pd.factorize(texts)
        place, texts = code[place], pd.Series(distinct)
    ordered = len(texts) <= MOST_ORDERED
    if ordered:
        order = _in_order(texts)
        rank = np.empty(len(order), dtype=np.min_scalar_type(-max(len(order), 1)))
        rank[order] = np.arange(len(order))
        place, texts = rank[place], texts.iloc[order]
    return pd.Series(pd.Categorical.from_codes(place, pd.Index(texts), ordered=ordered))


def _in_order(texts: pd.Series) -> np.ndarray:
    """Places of differing texts in the order of their letters, shape (texts,)."""
    import pyarrow
    from pyarrow import compute

    return compute.sort_indices(pyarrow.array(texts)).to_numpy()  # by bytes of UTF-8, which is the order of their letters


def coded(column: pd.Series) -> bool:
    """Whether a column is kept as codes."""
    return isinstance(column.dtype, pd.CategoricalDtype)


def text(column: pd.Series) -> pd.Series:
    """A column written out as text."""
    if not coded(column):
        return column
    return pd.Series(column.cat.categories.array.take(column.cat.codes.to_numpy()), index=column.index, dtype="str")


def plain(frame: pd.DataFrame) -> pd.DataFrame:
    """The table with every coded column written out as text."""
    return frame.assign(**_each(text, {name: frame[name] for name in frame.columns if coded(frame[name])}))


def of_texts(column: pd.Series) -> pd.Series:
    """A column of text as codes."""
    return column if coded(column) else from_places(np.arange(len(column)), column).set_axis(column.index)


def kept(frame: pd.DataFrame) -> pd.DataFrame:
    """The table with every column of text as codes."""
    return frame.assign(
        **{name: of_texts(frame[name]) for name in frame.columns if isinstance(frame[name].dtype, pd.StringDtype)}
    )


def mapped(column: pd.Series, values) -> pd.Series:
    """What ``values`` (a dict, or a Series by text) say of each cell, read once a text; numbers, or text as codes."""
    column = of_texts(column)
    said = pd.Series(column.cat.categories, dtype="str").map(values)
    place = column.cat.codes.to_numpy()
    if pd.api.types.is_numeric_dtype(said) or pd.api.types.is_bool_dtype(said):
        return pd.Series(said.to_numpy()[place], index=column.index)
    return from_places(place, said.astype("str").fillna("")).set_axis(column.index)


def rows(frame: pd.DataFrame, at: np.ndarray) -> pd.DataFrame:
    """The rows at these places, numbered from 0."""
    return pd.DataFrame(_each(lambda column: column.array.take(at), dict(frame.items())), index=range(len(at)), copy=False)


def _each(change, columns: dict[str, pd.Series]) -> dict:
    """Every column changed, several at a time."""
    return dict(zip(columns, worked(change, columns.values()), strict=True))


def instead(column: pd.Series, old: str, new: str) -> pd.Series:
    """The column with one text in place of another."""
    if not coded(column):
        return column.replace(old, new)
    texts = pd.Series(column.cat.categories).replace(old, new)
    return from_places(column.cat.codes.to_numpy(), texts).set_axis(column.index)


def give_back() -> None:
    """Give memory that held texts, and holds nothing now, back to the machine; pyarrow keeps it else."""
    import pyarrow

    pyarrow.default_memory_pool().release_unused()


def place(known: pd.Series, asked: pd.Series) -> np.ndarray:
    """Where in ``known``, whose texts differ, each text asked for stands; -1 where it does not. Shape (asked,)."""
    import pyarrow
    from pyarrow import compute

    if coded(asked):
        code, distinct = asked.cat.codes, asked.cat.categories
    else:
        code, distinct = pd.factorize(asked, use_na_sentinel=False)
    texts = known.cat.categories if coded(known) else known
    texts, asked_for = (pyarrow.array(each, pyarrow.large_string()) for each in (texts, distinct))
    found = compute.index_in(texts, value_set=asked_for).fill_null(-1).to_numpy()
    found = found[known.cat.codes] if coded(known) else found
    row = np.full(len(distinct), -1)
    row[found[found >= 0]] = np.flatnonzero(found >= 0)
    return row[code]


def _numbers(column: pd.Series, in_order: bool) -> tuple[np.ndarray, int] | None:
    """Whole numbers from 0 that stand for a column's cells, and how many there may be; None where they do not come cheaply."""
    if coded(column):
        return (column.cat.codes.to_numpy(), len(column.cat.categories) + 1) if column.cat.ordered or not in_order else None
    if pd.api.types.is_datetime64_any_dtype(column) and not column.hasnans:
        number = column.to_numpy().astype("datetime64[s]").astype("int64")
        number = number if (number % 86_400).any() else number // 86_400
    elif pd.api.types.is_integer_dtype(column):
        number = column.to_numpy()
    elif pd.api.types.is_float_dtype(column) and _whole(column.to_numpy()):
        number = column.to_numpy().astype("int64")
    elif in_order:
        return None
    else:
        number = pd.factorize(column)[0] + 1
    least = number.min() if len(number) else 0
    return number - least, int(number.max() - least) + 1 if len(number) else 1


def _whole(number: np.ndarray) -> bool:
    """Whether all are whole numbers, and of a size that a whole number holds exactly."""
    return bool((np.abs(number) < 2**53).all() and (np.rint(number) == number).all())


def _combined(frame: pd.DataFrame, columns: list[str], in_order: bool, room: int = _ROOM) -> tuple[np.ndarray, int]:
    """One whole number below ``room`` a row for as many of the leading columns as fit into it, and how many these are."""
    key, size = np.zeros(len(frame), dtype="int64"), 1
    for done, name in enumerate(columns):
        numbers = _numbers(frame[name], in_order)
        if numbers is None or size * numbers[1] > room:
            return key, done
        key = key * numbers[1] + numbers[0]
        size *= numbers[1]
    return key, len(columns)


def again(frame: pd.DataFrame, columns: list[str]) -> np.ndarray:
    """Which rows repeat an earlier one in these columns, bool, shape (rows,)."""
    key, done = _combined(frame, columns, in_order=False)
    if done == len(columns):
        in_order = np.sort(key)  # quicker than looking for each
        once = (in_order[1:] != in_order[:-1]).all()
        return np.zeros(len(key), dtype=bool) if once else pd.Series(key).duplicated().to_numpy()
    return pd.DataFrame({"key": key, **{name: text(frame[name]) for name in columns[done:]}}).duplicated().to_numpy()


def order(frame: pd.DataFrame, columns: list[str]) -> np.ndarray:
    """Places of the rows in order of these columns, missing last, equal ones as they stand. Shape (rows,)."""
    size = max(len(frame), 1)
    key, done = _combined(frame, columns, in_order=True, room=_ROOM // size)
    in_order, at = key, np.arange(len(frame))
    if (key[1:] < key[:-1]).any():
        # each row's place is in its number: quickly sorted, and equal ones stay as they stand
        in_order, at = np.divmod(np.sort(key * size + at), size)
    same = in_order[1:] == in_order[:-1]
    tied = np.flatnonzero(np.append(same, False) | np.append(False, same)) if len(frame) else at
    if done < len(columns) and len(tied):
        equal = frame.iloc[at[tied]]
        ranks = [pd.factorize(text(equal[name]), sort=True)[0] for name in columns[done:]]
        ranks = [np.where(rank < 0, len(equal), rank) for rank in ranks]
        at[tied] = at[tied][np.lexsort([*ranks[::-1], in_order[tied]])]
    return at
