"""Which of many messages say the same of different things?

They differ by what is quoted and by their numbers alone. The first few of a kind are told, and how many more there
are. It leaves out the messages themselves.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

MOST = 10  # messages of one kind that people are told
MOST_IN_DOCUMENT = 100  # that a document holds

Message = TypeVar("Message")

_VARYING = re.compile(r"""'[^']*'|"[^"]*"|[-+]?\d[\d.,]*""")


def gist(text: str) -> str:
    """Return a message without what is quoted in it and without its numbers.

    Examples
    --------
    >>> gist('bed "north": height is -1.5 m, must be above 0')
    'bed _: height is _ m, must be above _'
    """
    return _VARYING.sub("_", text)


def firsts(
    messages: Iterable[Message],
    kind: Callable[[Message], Hashable],
    rest: Callable[[Message, int], Message],
    *,
    most: int = MOST,
) -> list[Message]:
    """Return the first messages of each kind in their order, then what stands for the others of that kind.

    Parameters
    ----------
    messages : iterable
    kind : callable
        What kind a message is of.
    rest : callable
        Given the first message that is not told and how many there are of them, returns what stands for them.
    most : int
        How many of a kind are told; one more where it would be the only one left out.

    Examples
    --------
    >>> words = ["a1", "b1", "a2", "a3", "a4"]
    >>> firsts(words, lambda word: word[0], lambda word, count: f"{count} more {word[0]}", most=2)
    ['a1', 'b1', 'a2', '2 more a']
    """
    listed = list(messages)
    kinds = [kind(message) for message in listed]
    counts, seen, told = Counter(kinds), Counter[Hashable](), []
    for message, its in zip(listed, kinds, strict=True):
        seen[its] += 1
        if seen[its] <= most or counts[its] == most + 1:
            told.append(message)
        elif seen[its] == most + 1:
            told.append(rest(message, counts[its] - most))
    return told
