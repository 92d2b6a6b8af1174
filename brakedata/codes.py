"""Columns of repeated texts while they are checked: each text once, and a code a row (pandas categories).

A million rows hold few distinct words, and comparing whole numbers is quicker than comparing texts. Every function takes plain
columns of text too and gives the same answer. ``ordered`` categories are in the order of their texts.
"""

import numpy as np
import pandas as pd

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
        order = np.argsort(texts.to_numpy(dtype=object), kind="stable")
        rank = np.empty(len(order), dtype=np.min_scalar_type(-max(len(order), 1)))
        rank[order] = np.arange(len(order))
        place, texts = rank[place], texts.iloc[order]
    return pd.Series(pd.Categorical.from_codes(place, pd.Index(texts), ordered=ordered))


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
    return frame.assign(**{name: text(frame[name]) for name in frame.columns if coded(frame[name])})


def instead(column: pd.Series, old: str, new: str) -> pd.Series:
    """The column with one text in place of another."""
    if not coded(column):
        return column.replace(old, new)
    texts = pd.Series(column.cat.categories).replace(old, new)
    return from_places(column.cat.codes.to_numpy(), texts).set_axis(column.index)


def place(known: pd.Series, asked: pd.Series) -> np.ndarray:
    """Where in ``known``, whose texts differ, each text asked for stands; -1 where it does not. Shape (asked,)."""
    if not coded(asked):
        return pd.Index(text(known)).get_indexer(asked)
    import pyarrow
    from pyarrow import compute

    texts = known.cat.categories if coded(known) else known
    found = compute.index_in(pyarrow.array(texts), value_set=pyarrow.array(asked.cat.categories)).fill_null(-1).to_numpy()
    found = found[known.cat.codes] if coded(known) else found
    row = np.full(len(asked.cat.categories), -1)
    row[found[found >= 0]] = np.flatnonzero(found >= 0)
    return row[asked.cat.codes]


def _numbers(column: pd.Series, in_order: bool) -> tuple[np.ndarray, int] | None:
    """Whole numbers from 0 that stand for a column's cells, and how many there may be; None where they do not come cheaply."""
    if coded(column):
        return (column.cat.codes.to_numpy(), len(column.cat.categories) + 1) if column.cat.ordered or not in_order else None
    if pd.api.types.is_datetime64_any_dtype(column) and not column.hasnans:
        number = column.to_numpy().astype("datetime64[s]").astype("int64")
        number = number if (number % 86_400).any() else number // 86_400
    elif pd.api.types.is_integer_dtype(column):
        number = column.to_numpy()
    elif in_order:
        return None
    else:
        number = pd.factorize(column)[0] + 1
    least = number.min() if len(number) else 0
    return number - least, int(number.max() - least) + 1 if len(number) else 1


def _combined(frame: pd.DataFrame, columns: list[str], in_order: bool) -> tuple[np.ndarray, int]:
    """One whole number a row for as many of the leading columns as fit into it, and how many these are."""
    key, size = np.zeros(len(frame), dtype="int64"), 1
    for done, name in enumerate(columns):
        numbers = _numbers(frame[name], in_order)
        if numbers is None or size * numbers[1] > _ROOM:
            return key, done
        key = key * numbers[1] + numbers[0]
        size *= numbers[1]
    return key, len(columns)


def again(frame: pd.DataFrame, columns: list[str]) -> np.ndarray:
    """Which rows repeat an earlier one in these columns, bool, shape (rows,)."""
    key, done = _combined(frame, columns, in_order=False)
    if done == len(columns):
        return pd.Series(key).duplicated().to_numpy()
    return pd.DataFrame({"key": key, **{name: text(frame[name]) for name in columns[done:]}}).duplicated().to_numpy()


def order(frame: pd.DataFrame, columns: list[str]) -> np.ndarray:
    """Places of the rows in order of these columns, missing last, equal ones as they stand. Shape (rows,)."""
    key, done = _combined(frame, columns, in_order=True)
    at = np.arange(len(frame)) if (key[1:] >= key[:-1]).all() else np.argsort(key, kind="stable")
    same = key[at[1:]] == key[at[:-1]]
    tied = np.flatnonzero(np.append(same, False) | np.append(False, same)) if len(frame) else at
    if done < len(columns) and len(tied):
        rows = frame.iloc[at[tied]]
        ranks = [pd.factorize(text(rows[name]), sort=True)[0] for name in columns[done:]]
        ranks = [np.where(rank < 0, len(rows), rank) for rank in ranks]
        at[tied] = at[tied][np.lexsort([*ranks[::-1], key[at[tied]]])]
    return at
