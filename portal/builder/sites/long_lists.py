"""The items on a site's page: all that there are, and of a long list the first ones in full.

A page with 60 items weighs more than a phone gets in a few seconds at a site's edge, and most of it
is read later or never. So headings and counts are always there, with the first cards, and the
others come when they are scrolled to; without a script a link shows them all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from portal.builder.cards import Group, ItemCard, ItemLists, bare_cards, by_trade, by_wall
from readiness.facts import SiteState

FIRST_CARDS = 10
TOO_FEW_TO_HIDE = 2


@dataclass
class SiteItems:
    """A site's items by what they ask of the builder, each list a group of cards."""

    lists: ItemLists
    groups: list[Group]
    waiting: Group
    done: Group
    applicator: Group
    record: Group

    @classmethod
    def of(cls, state: SiteState, group_by: str) -> SiteItems:
        """Everything, in bare cards."""
        lists = ItemLists.of(bare_cards(state.items, state.facts().today))
        return cls(
            lists=lists,
            groups=(by_wall if group_by == "wall" else by_trade)(lists.to_do),
            waiting=Group(
                _("For us to check"), "waiting", lists.waiting,
                with_actions=True, with_trade=True, brief=True,
            ),
            done=Group(_("Accepted"), "done", lists.done, with_trade=True, brief=True),
            applicator=Group(
                _("We will do this on the day"), "applicator", lists.applicator,
                _("Small things. Nothing for you to do."),
            ),
            record=Group(
                _("Record only"), "record", lists.record,
                _("It was there before the treatment. Nobody has to fix it before we can book."),
            ),
        )  # fmt: skip

    @property
    def all_groups(self) -> list[Group]:
        """In the order of the page."""
        return [*self.groups, self.waiting, self.done, self.applicator, self.record]

    def show_first(self, item_id: str = "") -> None:
        """Hide what goes beyond the first cards, but not the item that somebody comes to see."""
        left = FIRST_CARDS
        for group in self.all_groups:
            count = len(group.cards)
            is_wanted = any(str(card.item.pk) == item_id for card in group.cards)
            if is_wanted or count - left <= TOO_FEW_TO_HIDE:
                left = max(0, left - count)
            else:
                group.shown, left = left, 0

    def cards_shown(self) -> list[ItemCard]:
        return [card for group in self.all_groups for card in group.cards_shown]

    def after(self, key: str, item_id: str) -> Group | None:
        """What follows an item in the group of this key; all of it where the item is gone."""
        group = next((group for group in self.all_groups if group.key == key), None)
        if group is not None:
            group.cards = _after(group.cards, item_id)
        return group


def _after(cards: Iterable[ItemCard], item_id: str) -> list[ItemCard]:
    cards = list(cards)
    for place, card in enumerate(cards, 1):
        if str(card.item.pk) == item_id:
            return cards[place:]
    return cards
