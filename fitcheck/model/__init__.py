"""The model: part classes, parts, builds, positions, evidence."""

from fitcheck.model.build import EngineBuild, MakerLimit, Part, UnderstoodText
from fitcheck.model.classes import Attribute, PartClass
from fitcheck.model.evidence import Evidence, Fact, Origin, Statement
from fitcheck.model.glance import glanced
from fitcheck.model.position import (
    EVERYWHERE,
    LEVELS,
    MOST_CYLINDERS,
    SIDES,
    Each,
    Layout,
    Position,
    Selector,
    group_name,
)
from fitcheck.model.shape import shape, shaped

__all__ = [
    "EVERYWHERE",
    "LEVELS",
    "MOST_CYLINDERS",
    "SIDES",
    "Attribute",
    "Each",
    "EngineBuild",
    "Evidence",
    "Fact",
    "Layout",
    "MakerLimit",
    "Origin",
    "Part",
    "PartClass",
    "Position",
    "Selector",
    "Statement",
    "UnderstoodText",
    "glanced",
    "group_name",
    "shape",
    "shaped",
]
