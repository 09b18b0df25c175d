"""Pages of what a search or a filter found, counted no further than anyone pages."""

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.utils.functional import cached_property

FURTHEST = 1000


class FoundPages(Paginator):
    """At most the first `FURTHEST` things found.

    Counting all that "street" finds among 100 000 sites takes longer than finding a page of them.
    """

    object_list: QuerySet

    @cached_property
    def count(self) -> int:
        return self.object_list.order_by()[:FURTHEST].count()

    @property
    def is_cut_short(self) -> bool:
        """Whether there may be more than `count`."""
        return self.count == FURTHEST


def pages_of(found: QuerySet, is_search: object, a_page: int) -> Paginator:
    """The pages of a list: all of it, or of what was searched for."""
    return (FoundPages if is_search else Paginator)(found, a_page)
