"""What is shipped: tested versions within the open bounds, and a licence for each package."""

import re
import tomllib
from importlib.metadata import distribution
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parent.parent
OLDEST = {"extra": "", "python_version": "3.11", "python_full_version": "3.11.7"}
"""The Python that versions were tested with."""


def plain(name: str) -> str:
    """A package's name as indexes compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def pinned() -> dict[str, str]:
    """The tested version of each package."""
    lines = (ROOT / ".constraints.txt").read_text("utf-8").splitlines()
    pairs = [line.split("==") for line in lines if line and not line.startswith("#")]
    return {plain(name): version for name, version in pairs}


def wanted() -> dict[str, Requirement]:
    """What the project needs, and what that needs in turn."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    left, found = [Requirement(one) for one in project["dependencies"]], {}
    while left:
        one = left.pop()
        if plain(one.name) in found or (one.marker and not one.marker.evaluate(OLDEST)):
            continue
        found[plain(one.name)] = one
        left += [Requirement(text) for text in distribution(one.name).requires or []]
    return found


def test_every_package_has_a_tested_version_within_its_bounds() -> None:
    versions = pinned()
    for name, requirement in wanted().items():
        assert name in versions, f"{name} has no line in .constraints.txt"
        assert requirement.specifier.contains(versions[name], prereleases=True), requirement


def test_every_package_has_a_licence() -> None:
    rows = re.findall(r"^\| (\S+) \| ([^|]+) \|", (ROOT / ".licences.md").read_text("utf-8"), re.MULTILINE)
    told = {plain(name): licence.strip() for name, licence in rows}
    assert all(told.get(name) for name in pinned()), set(pinned()) - set(told)
