"""Work on several cores at once, its results in order: how many cores there are changes nothing but the time."""

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor

CORES = min(os.cpu_count() or 1, 8)


def worked(work: Callable, items: Iterable) -> Iterator:
    """``work(item)`` of each item, in the items' order.

    Parameters
    ----------
    work : callable
        Changes nothing that another item's work reads; numpy frees the cores while it computes.
    items : iterable
        Taken as the results are taken, a few ahead, so that no more than that many are in memory.

    Yields
    ------
    object
    """
    with ThreadPoolExecutor(CORES) as threads:
        begun = deque()
        for item in items:
            begun.append(threads.submit(work, item))
            if len(begun) > CORES:
                yield begun.popleft().result()
        while begun:
            yield begun.popleft().result()
