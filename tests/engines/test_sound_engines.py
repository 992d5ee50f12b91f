"""Engines that a good shop would run must raise no alarm.

`healthy/` holds complete invented engines, each figure as a careful builder would have it at the
end; `factory/` holds engines as public technical manuals print them for new parts, tried in the
middle and at both ends of each tolerance. A clash of severity stop or serious on one of them is a
false alarm, unless it is listed here with the reason.
"""

from __future__ import annotations

from fitcheck.check import check_build, read_build
from fitcheck.knowledge import Knowledge
from tests.engines.judging import alarms, checked, engines
from tests.engines.tolerances import assemblies

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
        {
            "diesel_v8_6500",
            "factory_roller_v8",
            "lift_truck_four_lpg",
            "lift_truck_spark_ignition",
        },
        "0.0029 of the bore is a factory figure: 0.25 mm in 86.7 mm, TM 10-3930-653-14&P",
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
    "cam_loose_in_bearing": (
        {"diesel_v12_2300"},
        "0.0055 in on a journal of 3 in is a new one, TM 9-6115-604-34",
    ),
    "cam_tight_in_bearing": (
        {"lift_truck_spark_ignition"},
        "0.025 mm is how a sheet in millimetres prints 0.001 in, TM 10-3930-653-14&P",
    ),
    "cam_end_play_great": ({"diesel_v12_2300"}, "0.013 in is a new one, TM 9-6115-604-34"),
    "roller_cam_walks": (
        {"diesel_v8_6500"},
        "the manual does not speak of the thrust plate, which is not the same as having none",
    ),
    "stem_tight_in_guide": ({"generating_set"}, "0.0005 in is a new one, TM 9-6115-464-34"),
}


def test_no_false_alarms(knowledge: Knowledge) -> None:
    built = [(path.stem, checked(path, knowledge)) for path in engines("healthy")]
    built += [
        (path.stem, check_build(build, knowledge))
        for path in engines("factory")
        for _, build in assemblies(read_build(path, knowledge))
    ]
    found = {
        (engine, alarm.rule): f"{alarm.severity}: {alarm.says}"
        for engine, check in built
        for alarm in alarms(check).values()
    }
    known = {(engine, rule) for rule, (names, _) in KNOWN.items() for engine in names}
    print(f"\n{len(found)} false alarms on {len(built)} sound engines, {len(known)} known")
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
