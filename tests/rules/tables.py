"""The tables of kinds and rule values as a later version might have them."""

from dataclasses import replace

from readiness.rules import values
from readiness.rules.catalogue import KINDS
from readiness.rules.rule_table import RULE_VALUES
from readiness.rules.values import RuleValues, minutes_key


class LaterTables:
    """Changes that last as long as the `monkeypatch` they are made with."""

    def __init__(self, monkeypatch):
        self._patch = monkeypatch

    def take_out_kind(self, slug):
        self._patch.delitem(KINDS, slug)
        self.take_out_rule(minutes_key(slug))

    def change_kind(self, slug, **changes):
        self._patch.setitem(KINDS, slug, replace(KINDS[slug], **changes))

    def take_out_rule(self, key):
        self._patch.delitem(RULE_VALUES, key)
        self._settle()

    def change_rule(self, key, **changes):
        self._patch.setitem(RULE_VALUES, key, replace(RULE_VALUES[key], **changes))
        self._settle()

    def _settle(self):
        defaults = {key: rule.default for key, rule in RULE_VALUES.items()}
        self._patch.setattr(values, "_DEFAULTS", RuleValues(defaults))
