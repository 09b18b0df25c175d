"""The tables of kinds and rule values as a later version might have them."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from readiness.rules.defects.catalogue import KINDS, RETIRED
from readiness.rules.site import reasons
from readiness.rules.values import rule_values
from readiness.rules.values.rule_table import RULE_VALUES
from readiness.rules.values.rule_values import RuleValues, minutes_key


@contextmanager
def later_version() -> Iterator["LaterTables"]:
    """Tables to change; afterwards they are as before, in their old order too."""
    kept = [(table, dict(table)) for table in (KINDS, RETIRED, RULE_VALUES)]
    defaults, site_notes = rule_values._DEFAULTS, reasons.site_notes
    # What is worked out once for all must not outlive the changes.
    reasons.site_notes = site_notes.__wrapped__
    try:
        yield LaterTables()
    finally:
        for table, entries in kept:
            table.clear()
            table.update(entries)
        rule_values._DEFAULTS, reasons.site_notes = defaults, site_notes


class LaterTables:
    """Changes to the catalogue and to the table of rule values."""

    def take_out_kind(self, slug: str, *, name: str = "") -> None:
        """With its name kept among those taken out, if one is given."""
        del KINDS[slug]
        if name:
            RETIRED[slug] = name
        self.take_out_rule(minutes_key(slug))

    def change_kind(self, slug: str, **changes) -> None:
        KINDS[slug] = replace(KINDS[slug], **changes)

    def take_out_rule(self, key: str) -> None:
        del RULE_VALUES[key]
        self._settle()

    def change_rule(self, key: str, **changes) -> None:
        RULE_VALUES[key] = replace(RULE_VALUES[key], **changes)
        self._settle()

    def _settle(self) -> None:
        rule_values._DEFAULTS = RuleValues({key: rule.default for key, rule in RULE_VALUES.items()})
