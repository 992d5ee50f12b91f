"""Where things stand in the handbook: the one place that knows the names of its pages."""

from __future__ import annotations

from fitcheck.knowledge import Procedure, Rule
from fitcheck.source import frozen


@frozen
class Links:
    """Addresses within a handbook at `base`, as seen from a page; none where no handbook is named.

    Within the handbook itself the base is `.`.
    """

    base: str = ""

    def _at(self, page: str, id_: str = "") -> str:
        if not self.base:
            return ""
        return f"{'' if self.base == '.' else self.base + '/'}{page}.html{f'#{id_}' if id_ else ''}"

    def rule(self, rule: Rule) -> str:
        """A rule, among those of its family."""
        return self._at(f"rules-{rule.family}", rule.id)

    def part(self, slot: str) -> str:
        """A class of parts."""
        return self._at(f"part-{slot}")

    def attribute(self, name: str) -> str:
        """An attribute, on the page of its part."""
        return self._at(f"part-{name.partition('.')[0]}", name)

    def derived(self, name: str) -> str:
        """A figure that follows from others."""
        return self._at("figures", name)

    def figure(self, name: str) -> str:
        """An attribute or what follows from others."""
        return self.attribute(name) if "." in name else self.derived(name)

    def operation(self, name: str) -> str:
        """An operation."""
        return self._at("operations", name)

    def procedure(self, procedure: Procedure) -> str:
        """A way of measuring."""
        return self._at("procedures", procedure.id)

    def caution(self, name: str) -> str:
        """A caution."""
        return self._at("cautions", name)

    def source(self, name: str) -> str:
        """A source."""
        return self._at("sources", name)
