"""Prove rules of your own: run their examples, and the small changes that these must notice."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.cli.common import CLASHES, FITS, output, refuse, tell

if TYPE_CHECKING:
    from fitcheck.check.proofs.proving import Proof

HELP = "run the examples of rules of your own, and say what is not proven"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("folder", type=Path, help="the folder, as --rules takes it")


def run(options: argparse.Namespace) -> int:
    """Run the command."""
    from fitcheck.check.proofs.proving import prove_rules  # noqa: PLC0415
    from fitcheck.knowledge import default_rules  # noqa: PLC0415
    from fitcheck.knowledge.load import load_anew  # noqa: PLC0415
    from fitcheck.report.proofs import write_proof  # noqa: PLC0415

    folder: Path = options.folder
    shipped = default_rules()
    beside = () if folder.resolve() == shipped.resolve() else (folder,)
    knowledge = load_anew(shipped, *beside)
    if (folder / "house.yaml").is_file():
        from fitcheck.knowledge.house import with_house  # noqa: PLC0415

        with_house(knowledge, folder / "house.yaml")  # refused where it does not read
    out = output()
    proofs: list[Proof] = []
    for proof in prove_rules(knowledge, folder):
        write_proof(proof, out)
        proofs.append(proof)
    if not proofs:
        refuse(f"{folder} holds no rules", "a rule stands in fits/<family>/<rule>.yaml there")
    whole = sum(proof.whole for proof in proofs)
    tell(f"{whole} of {len(proofs)} rules proven.")
    return FITS if whole == len(proofs) else CLASHES
