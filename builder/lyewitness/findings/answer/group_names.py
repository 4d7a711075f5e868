"""Which groups a free text names.

In: text and the names of the groups. Out: the groups, in the order of the text.
"""

import re
from collections.abc import Sequence


def named_groups(text: str, groups: Sequence[str]) -> tuple[str, ...]:
    """Return the groups that `text` names: by all words of the name, or by those that only this name has.

    `core-shell columns` names the group `core-shell hybrid surface` where no other group is core-shell. Of
    two names of which one holds the other, the longer is meant.
    """
    words = words_of(text)
    tokens = {group: words_of(group) for group in groups}
    present = [group for group in groups if _is_named(group, tokens, words)]
    meant = [g for g in present if not any(set(tokens[g]) < set(tokens[other]) for other in present)]
    return tuple(sorted(meant, key=lambda g: min(words.index(w) for w in tokens[g] if w in words)))


def _is_named(group: str, tokens: dict[str, list[str]], words: list[str]) -> bool:
    own = tokens[group]
    if own and all(word in words for word in own):
        return True
    elsewhere = {word for other, theirs in tokens.items() if other != group for word in theirs}
    only = [word for word in own if word not in elsewhere and len(word) > 2]
    # The first word of a name says most; a lone later one may be a word of the trade.
    return bool(only) and own[0] in only and own[0] in words


def words_of(text: str) -> list[str]:
    """Return the words of `text`, small and without the s of a plural."""
    return [word.rstrip("s") or word for word in re.findall(r"[^\W_]+", text.lower())]
