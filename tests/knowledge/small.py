"""A small rules folder, whole and without mistakes, for tests to change."""

from __future__ import annotations

from pathlib import Path

FILES = {
    "sources.yaml": """\
geometry: {title: geometry, kind: geometry}
practice: {title: "common practice, no source", kind: practice}
""",
    "cautions.yaml": """\
compressed_spring: {title: Compressed springs, text: Wear eye protection., source: practice}
""",
    "questions.yaml": """\
springs: {title: do the springs suit the lift?, short: springs, families: [springs]}
""",
    "choices.yaml": """\
lobe: {flat: flat lobe, roller: roller lobe}
""",
    "measuring/bench.yaml": """\
height_micrometer:
  title: installed height with a height micrometer
  tool: height micrometer
  setup: head on the bench
  steps: [Set it between seat and retainer., Read it.]
  resolution: 0.001 in
  minutes: 3
  cautions: [compressed_spring]
  source: practice
card: {title: from the card, tool: cam card, setup: desk, steps: [Read it.], resolution: none,
       minutes: 1, source: practice}
""",
    "classes/spring.yaml": """\
title: valve spring
about: Holds the valve to the lobe.
each: valve
attributes:
  shape: {title: shape, choice: [straight, conical], measure: card}
  installed_height:
    title: installed height
    quantity: length
    plausible: 1.000..2.600 in
    claim: +-0.020 in
    measure: height_micrometer
  solid_height: {title: solid height, quantity: length, plausible: 0.500..2.000 in, measure: card}
  rate: {title: rate, quantity: rate, plausible: 50..1000 lbf/in, claim: +-5 %, measure: card}
  note: {title: note, text: what the maker says}
""",
    "classes/cam.yaml": """\
title: camshaft
about: Lifts the valves.
each: engine
attributes:
  lobe_type: {title: lobe type, choice: lobe, measure: card}
  lobe_lift: {title: lobe lift, quantity: length, plausible: 0.100..0.600 in, each: valve,
              measure: card}
  for_lobes: {title: takes lobes, some_of: lobe, measure: card}
""",
    "classes/shim.yaml": """\
title: spring shim
about: Goes under the spring.
each: valve
optional: "yes"
attributes:
  thickness: {title: thickness, quantity: length, plausible: 0.000..0.250 in, absent: 0 in}
""",
    "mates/springs.yaml": """\
spring_and_cam:
  title: spring and lobe
  between: [spring, cam]
  through: [spring.installed_height, spring.solid_height, cam.lobe_lift]
shim_and_spring:
  title: shim under the spring
  between: [shim, spring]
  through: [shim.thickness, spring.rate]
  free: a shim of any thickness may lie there
""",
    "derived/heights.yaml": """\
open_height:
  title: height at full lift
  is: spring.installed_height - shim.thickness - cam.lobe_lift
  quantity: length
  plausible: 0.400..2.500 in
  source: geometry
solidity:
  title: solid height over open height
  is: spring.solid_height / open_height
  quantity: number
  source: geometry
""",
    "operations/springs.yaml": """\
cut_seat:
  title: cut the spring seat
  does: The seat is cut deeper.
  sort: [sets]
  on: spring
  each: valve
  amount: {quantity: length, step: 0.005 in, range: 0.005..0.100 in, means: how much deeper}
  effects: {spring.installed_height: spring.installed_height + amount}
  undoes: [spring.installed_height]
  hours: 0.10 h
  cautions: [compressed_spring]
  source: practice
fit_shim:
  title: fit a shim
  does: A shim goes under the spring.
  sort: [fits]
  on: shim
  each: valve
  after: [cut_seat]
  hours: 0.05 h
  source: practice
""",
    "fits/springs/coil_bind.yaml": """\
title: the spring goes solid
subject: coil-bind clearance
severity: stop
requires: open_height - spring.solid_height >= least
limits:
  least: {value: 0.060 in, source: practice, why: racing springs are set up closer}
message: Of {open_height} the coils take {spring.solid_height}.
why: A spring that goes solid stops the valve dead.
fixes:
  - {do: cut_seat, amount: shortfall}
  - {replace: spring, look_for: "one solid at {open_height - least}, {shortfall} less"}
cautions: [compressed_spring]
examples:
  given: {spring.installed_height: 1.700 in, cam.lobe_lift: 0.400 in, shim.present: "no"}
  fits: [{spring.solid_height: 1.240 in}]
  conflict: [{spring.solid_height: 1.241 in}]
  straddles: [{spring.solid_height: 1.230..1.250 in}]
  unmeasured: [{}]
""",
    "fits/springs/weak_spring.yaml": """\
title: the spring is too weak for the lobe
subject: spring rate
severity: serious
applies: spring.shape == 'straight'
requires: spring.rate >= least
limits:
  least:
    by: cam.lobe_type
    values: {flat: 200 lbf/in, roller: 300 lbf/in}
    source: practice
message: The rate is {spring.rate}, and at least {least} is wanted.
why: The valve does not follow a lobe that its spring is too weak for.
fixes:
  - {replace: spring, note: a stiffer one}
examples:
  given: {spring.shape: straight}
  fits:
    - {cam.lobe_type: flat, spring.rate: 200 lbf/in}
    - {cam.lobe_type: roller, spring.rate: 300 lbf/in}
  conflict:
    - {cam.lobe_type: flat, spring.rate: 199 lbf/in}
    - {cam.lobe_type: roller, spring.rate: 299 lbf/in}
  unmeasured: [{}]
  not_applicable: [{spring.shape: conical}]
""",
}


def written(folder: Path, changes: dict[str, str] | None = None) -> Path:
    """The small rules as files under `folder`, some of them replaced by `changes` or added."""
    for name, text in {**FILES, **(changes or {})}.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def changed(name: str, old: str, new: str) -> dict[str, str]:
    """One file with a piece of its text replaced; the piece stands there once."""
    assert FILES[name].count(old) == 1, f"{old!r} does not stand once in {name}"
    return {name: FILES[name].replace(old, new)}
