"""Engines that a good shop would run must raise no alarm.

`healthy/` holds complete invented engines, each figure as a careful builder would have it at the
end; `factory/` holds engines as public technical manuals print them for new parts. A clash of
severity stop or serious on one of them is a false alarm, unless it is listed here with the reason.
"""

from __future__ import annotations

from fitcheck.check import read_build
from fitcheck.knowledge import Knowledge
from tests.engines.judging import alarms, checked, engines

# The rules that still raise a false alarm: on which engines, and why the rule is wrong.
KNOWN: dict[str, tuple[set[str], str]] = {
    "contact_too_high_on_face": (
        {
            "factory_roller_v8",
            "hillclimb_four_solid_flat",
            "hot_street_v8",
            "hot_street_v8_hydraulic_flat",
            "hot_street_v8_solid_flat",
            "lift_truck_four_lpg",
            "mild_street_v8",
            "race_v8_methanol",
            "road_six_solid_flat",
            "small_road_four",
            "small_single",
            "street_strip_v8_solid_roller",
        },
        "0.012 in of bare face outside the contact is ordinary; 1/64 in is one manual's figure",
    ),
    "seat_reaches_past_face": (
        {
            "factory_roller_v8",
            "hillclimb_four_solid_flat",
            "hot_street_v8",
            "hot_street_v8_hydraulic_flat",
            "hot_street_v8_solid_flat",
            "lift_truck_four_lpg",
            "mild_street_v8",
            "race_v8_methanol",
            "road_six_solid_flat",
            "small_road_four",
            "small_single",
            "street_strip_v8_solid_roller",
        },
        "the same 0.012 in told a second time",
    ),
    "top_ring_gap_small": (
        {"factory_roller_v8", "lift_truck_four_lpg"},
        "0.0036 of the bore is a factory figure: 0.25 mm in 86.7 mm, TM 10-3930-653-14&P",
    ),
    "washers_missing_on_aluminium": (
        {"factory_roller_v8"},
        "flange-head bolts have their washer on them",
    ),
    "coil_bind": ({"race_v8_methanol"}, "the spring's maker asks for 0.035 in"),
    "spring_surges": (
        {"race_v8_methanol"},
        "the spring's maker allows 8800 rpm, and racing springs run at 6 to 7 times",
    ),
    "piston_too_fast_for_rod": ({"race_v8_methanol"}, "the rods' maker allows 8800 rpm"),
    "mount_not_for_head": (
        {"street_strip_v8_solid_roller"},
        "short shafts for pairs of rockers are made to bolt to stud bosses",
    ),
    "lobe_larger_than_bearing": (
        {"small_single"},
        "the camshaft of a small single lies between crankcase and side cover, it is not drawn "
        "through its bearings",
    ),
    "seat_too_narrow": (
        {"small_single"},
        "seats from 3/64 in are usual on small valves (TM 5-4240-501-14&P)",
    ),
}


def test_no_false_alarms(knowledge: Knowledge) -> None:
    paths = [path for kind in ("healthy", "factory") for path in engines(kind)]
    found = {
        (path.stem, alarm.rule): f"{alarm.severity}: {alarm.says}"
        for path in paths
        for alarm in alarms(checked(path, knowledge)).values()
    }
    known = {(engine, rule) for rule, (names, _) in KNOWN.items() for engine in names}
    print(f"\n{len(found)} false alarms on {len(paths)} sound engines, {len(known)} known")
    unknown = {key: told for key, told in found.items() if key not in known}
    assert not unknown, "\n".join(f"{key}: {told}" for key, told in unknown.items())


def test_the_engines_are_many_and_complete(knowledge: Knowledge) -> None:
    """At least twelve, and each tells nearly all that there is to say of its parts."""
    paths = engines("healthy")
    assert len(paths) >= 12
    for path in paths:
        build = read_build(path, knowledge)
        told = {statement.attribute.name for statement in build.statements()}
        told |= {name for slot in build.absent for name in knowledge.classes[slot].attributes}
        silent = {name for name in knowledge.attributes if name not in told}
        assert len(silent) < 0.3 * len(knowledge.attributes), (path.stem, sorted(silent))
