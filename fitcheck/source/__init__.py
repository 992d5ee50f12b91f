"""Text files and where things stand in them: places, problems, strict YAML."""

from fitcheck.source.frozen import frozen
from fitcheck.source.place import BadInput, Place, Problem, Problems, Source, TellsProblems, nearest
from fitcheck.source.yaml import Mapping, Node, Sequence, Text, Typed, as_node, read_yaml

__all__ = [
    "BadInput",
    "Mapping",
    "Node",
    "Place",
    "Problem",
    "Problems",
    "Sequence",
    "Source",
    "TellsProblems",
    "Text",
    "Typed",
    "as_node",
    "frozen",
    "nearest",
    "read_yaml",
]
