"""Which messages say the same thing about different features?

Two messages are of one kind if they differ only in their numbers and in what they quote. The first few of a kind are
shown, then one line that says how many more there are.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

MOST = 10  # messages of one kind that people are shown
MOST_IN_DOCUMENT = 100  # messages of one kind that plan.json holds

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


def first_of_each_kind(
    messages: Iterable[Message],
    kind: Callable[[Message], Hashable],
    rest: Callable[[Message, int], Message],
    *,
    most: int = MOST,
) -> list[Message]:
    """Return the first messages of each kind in their order, with one message in place of the others of that kind.

    Parameters
    ----------
    messages : iterable
    kind : callable
        Returns the kind of a message.
    rest : callable
        Takes the first message that is left out, and how many are; returns the message that replaces them.
    most : int
        How many of a kind are kept; one more if it would be the only one left out.

    Examples
    --------
    >>> words = ["a1", "b1", "a2", "a3", "a4"]
    >>> first_of_each_kind(words, lambda word: word[0], lambda word, count: f"{count} more {word[0]}", most=2)
    ['a1', 'b1', 'a2', '2 more a']
    """
    listed = list(messages)
    kinds = [kind(message) for message in listed]
    counts, count_so_far, shown = Counter(kinds), Counter[Hashable](), []
    for message, message_kind in zip(listed, kinds, strict=True):
        count_so_far[message_kind] += 1
        if count_so_far[message_kind] <= most or counts[message_kind] == most + 1:
            shown.append(message)
        elif count_so_far[message_kind] == most + 1:
            shown.append(rest(message, counts[message_kind] - most))
    return shown
