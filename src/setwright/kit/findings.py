"""What the checks of Kit say of one setup, before any program is run."""

from __future__ import annotations

from dataclasses import replace

from setwright.kit.station import Kit
from setwright.model.check import run_checks
from setwright.model.finding import Finding, worst_first

__all__ = ["kit_findings"]


def kit_findings(kit: Kit) -> list[Finding]:
    """The findings of every check of Kit, worst first, each with the setup's name."""
    found = run_checks("setwright.kit.checks", kit, missing={})
    return worst_first([replace(finding, setup=kit.setup.name) for finding in found])
