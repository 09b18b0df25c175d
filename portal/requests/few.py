"""So many a minute and no more: a flood of refusals fills no table."""

from __future__ import annotations

from collections import Counter
from time import monotonic


class Few:
    """Counts in this process, by what it is asked with (an address), anew each minute."""

    def __init__(self, most: int):
        self.most = most
        self.noted: Counter[str] = Counter()
        self.minute = 0

    def has_room(self, key: str) -> bool:
        """Whether one more may be; it counts as one."""
        minute = int(monotonic() // 60)
        if minute != self.minute:
            self.minute, self.noted = minute, Counter()
        self.noted[key] += 1
        return self.noted[key] <= self.most
