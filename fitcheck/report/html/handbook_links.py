"""Where things stand in the handbook: the one place that knows the names of its pages."""

from __future__ import annotations

from fitcheck.knowledge import Rule
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
        """A rule."""
        return self._at(f"rules-{rule.family}", rule.id)

    def caution(self, id_: str) -> str:
        """A caution."""
        return self._at("cautions", id_)
