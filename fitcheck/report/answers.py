"""The short answer: one line for each question of the job, and the figure that it turns on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction

from fitcheck.check import BuildCheck, Likely, RuleFinding, Verdict
from fitcheck.check.measuring.asks import WEIGHTS, Ask
from fitcheck.check.room import past, well_past
from fitcheck.knowledge import SEVERITIES, JobQuestion
from fitcheck.model import Evidence, Fact, group_name
from fitcheck.quantity import System
from fitcheck.report.phrases import fact_value, missing_words, subjects
from fitcheck.source import frozen

IF_USUAL = "if the rest is as usual"
MOST_USUAL, MOST_TOLD = 3, 2
_CONTRADICTIONS = "contradictions"


@frozen
class ShortAnswer:
    """How one question stands; `words` tell it, `usual` are the usual figures it rests on most.

    `standing` is `no`, `likely not`, `ask`, `decide`, `look`, `likely` or `yes`.
    """

    id: str
    title: str
    short: str
    standing: str
    words: str
    usual: tuple[str, ...] = ()


def harm(finding: RuleFinding) -> tuple[int, float]:
    """What sorts findings by harm: the gravest first, then by how far past their limit."""
    return SEVERITIES.index(finding.rule.severity), -past(finding)


WORST_FIRST = (Verdict.CONFLICT, Verdict.STRADDLES, Verdict.UNMEASURED, Verdict.FITS)


def worst_place(findings: Iterable[RuleFinding]) -> RuleFinding:
    """Of one rule's findings the one to tell: of the gravest verdict, and there what lacks most."""
    return min(findings, key=_standing)


def _standing(finding: RuleFinding) -> tuple[int, Fraction]:
    margin = finding.margin
    return WORST_FIRST.index(finding.verdict), margin.lower if margin else Fraction(0)


def answers(
    check: BuildCheck, clashes: Sequence[RuleFinding], asks: Sequence[Ask], system: System
) -> tuple[ShortAnswer, ...]:
    """The answers, for the questions about which there is anything to say.

    `clashes` holds the worst place of each rule that clashes, in the order of harm.
    """
    found: dict[str, list[RuleFinding]] = {}
    told = [*check.findings, *(claim.finding for claim in check.claims)]
    for finding in told:
        found.setdefault(check.knowledge.question_of(finding.rule).id, []).append(finding)
    answering = _Answering(check, clashes, asks, system)
    return tuple(
        answer
        for question in check.knowledge.questions.values()
        if question.id in found
        for answer in [answering.answer(question, found[question.id])]
        if answer is not None
    )


class _Answering:
    def __init__(
        self, check: BuildCheck, clashes: Sequence[RuleFinding], asks: Sequence[Ask], system: System
    ) -> None:
        self.check = check
        self.clashes = clashes
        self.asks = asks
        self.system: System = system

    def answer(self, question: JobQuestion, findings: list[RuleFinding]) -> ShortAnswer | None:
        standing, words, usual = self._standing(question, findings)
        if not words:
            return None
        file = question.file
        return ShortAnswer(question.id, str(file.title), str(file.short), standing, words, usual)

    def _standing(
        self, question: JobQuestion, findings: list[RuleFinding]
    ) -> tuple[str, str, tuple[str, ...]]:
        if all(finding.rule.family == "claims" for finding in findings):
            return *self._claimed(), ()
        counts = [
            one for one in findings if question.advice_counts or one.rule.severity != "advice"
        ]
        ids = {finding.rule.id for finding in counts}
        clash = [one for one in self.clashes if one.rule.id in ids]
        if clash:
            return "no", f"no: {self._clash(clash)}", ()
        if all(finding.rule.family == _CONTRADICTIONS for finding in findings):
            return "", "", ()  # figures that agree are no news
        disputed = self.check.disputed
        # Work that is still to be done says nothing of the parts.
        undecided = [
            one
            for one in counts
            if one.verdict.undecided and not one.rule.by_work and one.rule.id not in disputed
        ]
        by: dict[Likely | None, list[RuleFinding]] = {}
        for one in undecided:
            by.setdefault(self.check.likelihoods.standing(one), []).append(one)
        likely_clash = sorted(by.get(Likely.CLASHES, []), key=harm)
        if likely_clash:
            usual = self._usual(likely_clash[:1])
            words = f"likely not, {IF_USUAL}{_bracket(usual)}: {self._as_usual(likely_clash)}"
            return "likely not", words, usual
        as_stated = sorted(self._clashing_as_stated(by.get(Likely.OPEN, [])), key=harm)
        if as_stated:
            by_what = f"by the figures as stated{self._followed(as_stated[0])}"
            return "likely not", f"likely not, {by_what}: {self._clash(as_stated)}", ()
        if Likely.OPEN in by:
            return *self._open(by[Likely.OPEN]), ()
        if Likely.FITS in by:
            usual = self._usual(by[Likely.FITS])
            found = [one for open_ in by[Likely.FITS] for one in self._with_usual(open_)]
            words = f"likely, {IF_USUAL}{_bracket(usual)}{self._tightest(found)}"
            return "likely", words, usual
        return self._yes(counts, findings)

    def _yes(
        self, counts: list[RuleFinding], findings: list[RuleFinding]
    ) -> tuple[str, str, tuple[str, ...]]:
        disputed = sorted((o for o in counts if o.rule.id in self.check.disputed), key=harm)
        if disputed:
            return "decide", f"yes, but practice disagrees on {self._clash(disputed)}", ()
        fits = [one for one in counts if one.verdict is Verdict.FITS]
        ids = {one.rule.id for one in findings}
        remarks = [one for one in self.clashes if one.rule.id in ids]
        if not fits and not remarks:
            return "", "", ()
        if remarks:
            return "yes", f"yes, with a remark: {self._clash(remarks)}", ()
        return "yes", f"yes{self._tightest(fits)}", ()

    def _clash(self, found: list[RuleFinding]) -> str:
        first = found[0]
        missing = missing_words(first, self.system)
        return _subject(first) + (f", {missing}" if missing else "") + _more(found)

    def _clashing_as_stated(self, found: Iterable[RuleFinding]) -> list[RuleFinding]:
        """Of what can't be told, what would clash if the figures were just as stated."""
        asked = (one for open_ in found for one in self._with_usual(open_) or [open_])
        told = [(one, one.as_stated(self.check.likelihoods.follows)) for one in asked]
        return [
            stated
            for one, stated in told
            if stated is not None and stated.verdict is Verdict.CONFLICT and well_past(one, stated)
        ]

    def _followed(self, finding: RuleFinding) -> str:
        """The usual figures beneath one as stated, which follow from others."""
        told = [
            f"{fact.attribute.title} {fact_value(fact, self.system)}"
            for fact in finding.cited.values()
            if fact.evidence is Evidence.USUAL and fact.interval is not None
        ]
        return f" and {', '.join(told[:MOST_TOLD])} as usual" if told else ""

    def _with_usual(self, finding: RuleFinding) -> list[RuleFinding]:
        """An open finding as it would be with usual figures."""
        return self.check.likelihoods.as_usual(finding)

    def _as_usual(self, found: list[RuleFinding]) -> str:
        """The first of some likely clashes, with its figure."""
        first = worst_place(
            one for one in self._with_usual(found[0]) if one.verdict is Verdict.CONFLICT
        )
        return self._clash([first, *found[1:]])

    def _claimed(self) -> tuple[str, str]:
        """Whether the build is inside what the seller says of the whole."""
        told = [claim.finding for claim in self.check.claims if not claim.finding.missing]
        outside = [one for one in told if one.verdict is Verdict.CONFLICT]
        if outside:
            return "no", f"no: outside the claim by {subjects(tuple(outside), most=1)}"
        edge = [one for one in told if one.verdict is not Verdict.FITS]
        if edge:
            return "decide", f"at the edge of the claim: {subjects(tuple(edge), most=1)}"
        return ("yes", f"yes: {subjects(tuple(told), most=1)}") if told else ("", "")

    def _open(self, found: list[RuleFinding]) -> tuple[str, str]:
        """What would tell: a figure or a look; else what stands too near its limit to be told."""
        looked = [one for one in found if one.rule.by_look]
        figures = [one for one in found if not one.rule.by_look]
        ids = {one.rule.id for one in figures}
        first = self._first(figures)
        if any(one.rule.severity == "stop" for one in looked):
            more = f"; {len(ids)} more open" if ids else ""
            return "look", f"one look at the bare parts: {subjects(tuple(looked), most=1)}{more}"
        if first is not None:
            where = _where(first, self.check)
            words = f"ask for {first.title}{where}"
            rest = len(ids - {rule.id for rule in first.rules})
            more = f" ({rest} more open)" if rest else ""
            return "ask", words + more
        if looked:
            return "look", f"one look at the bare parts: {subjects(tuple(looked), most=3)}"
        figures.sort(key=lambda one: (not one.contradicted, *harm(one)))
        if figures[0].contradicted:
            return "ask", f"measure again, as its figures contradict: {self._clash(figures)}"
        return "ask", f"too close to tell: {self._clash(figures)}"

    def _first(self, figures: list[RuleFinding]) -> Ask | None:
        """The figure to ask for first: one that could settle the gravest of what is open."""
        for severity in SEVERITIES:
            ids = {one.rule.id for one in figures if one.rule.severity == severity}
            for ask in self.asks if ids else ():
                if any(rule.id in ids for rule in ask.rules):
                    return ask
        return None

    def _usual(self, findings: list[RuleFinding]) -> tuple[str, ...]:
        """The usual figures that some answers rest on most, in words."""
        weights: Counter[str] = Counter()
        facts: dict[str, Fact] = {}
        for finding in findings:
            likely = self.check.likely(finding)
            for place, fact in enumerate(likely.rests_on[:MOST_USUAL] if likely else ()):
                name = fact.attribute.name
                facts.setdefault(name, fact)
                weights[name] += (MOST_USUAL - place) * WEIGHTS[finding.rule.severity]
        most = weights.most_common(MOST_USUAL)
        return tuple(
            f"{fact.attribute.title} {fact_value(fact, self.system)}"
            for fact in (facts[name] for name, _ in most)
        )

    def _tightest(self, fits: list[RuleFinding]) -> str:
        """The figure with least to spare of what it is measured by."""
        figures = [one for one in fits if one.demands]
        if not figures:
            return ""
        first = max(figures, key=past)
        return f"; tightest {_subject(first)}, {missing_words(first, self.system)}"


def _subject(finding: RuleFinding) -> str:
    return str(finding.rule.file.subject)


def _more(found: Sequence[RuleFinding]) -> str:
    rest = len({one.rule.id for one in found}) - 1
    return f" and {rest} more" if rest else ""


def _where(ask: Ask, check: BuildCheck) -> str:
    layout = check.build.layout
    everywhere = len(ask.positions) == len(layout.positions(ask.attribute.each))
    return "" if everywhere else f", {group_name(ask.positions, layout)}"


def _bracket(usual: tuple[str, ...]) -> str:
    return f" ({', '.join(usual[:MOST_TOLD])})" if usual else ""
