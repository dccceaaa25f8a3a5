"""Every package that the program needs at run time has a licence under which a school may use it."""

import re
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement

REQUIREMENTS = Path(__file__).resolve().parent.parent / "requirements.txt"
FREE = re.compile(r"MIT|BSD|Apache|PSF|Python Software Foundation|MPL|Mozilla|ISC|HPND|Zlib|Unlicense", re.IGNORECASE)
#: Used as they are, as libraries that anyone can exchange; the LGPL asks no more.
LESSER = {"pi-heif", "psycopg", "psycopg-binary"}
STRICT = re.compile(r"\bA?GPL|Affero|General Public|SSPL|Commons Clause|Non-?Commercial", re.IGNORECASE)


def licence_of(package: Distribution) -> str:
    """The licence as the package's metadata name it."""
    said = package.metadata
    if expression := said.get("License-Expression"):
        return str(expression)
    classified = [
        line.split("::")[-1].strip() for line in said.get_all("Classifier") or [] if line.startswith("License")
    ]
    return "; ".join(classified) or str(said.get("License") or "").split("\n")[0]


def needed(requirement: Requirement, found: dict[str, Distribution]) -> None:
    """Add a requirement that holds here and all that it needs."""
    name = re.sub(r"[-_.]+", "-", requirement.name).lower()
    if name in found and not requirement.extras:
        return
    package = found[name] = distribution(requirement.name)
    for line in package.requires or []:
        one = Requirement(line)
        if one.marker is None or any(one.marker.evaluate({"extra": extra}) for extra in ("", *requirement.extras)):
            needed(one, found)


def run_time_packages() -> dict[str, Distribution]:
    lines = REQUIREMENTS.read_text(encoding="utf-8").split("# the tests")[0].splitlines()
    found: dict[str, Distribution] = {}
    for line in lines:
        if line.strip() and not line.startswith("#"):
            needed(Requirement(line), found)
    return found


def test_every_run_time_package_has_a_licence_that_allows_this_use() -> None:
    licences = {name: licence_of(package) for name, package in run_time_packages().items()}
    assert len(licences) > 50
    assert {"streamlit", "mediapipe", "sqlalchemy", "pillow"} <= set(licences)
    lesser = {name for name, said in licences.items() if "LGPL" in said or "Lesser" in said}
    assert lesser == LESSER
    others = {name: said for name, said in licences.items() if name not in lesser}
    assert {name: said for name, said in others.items() if STRICT.search(said) or not FREE.search(said)} == {}
