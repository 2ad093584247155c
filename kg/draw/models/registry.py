"""The models by the names that the drawing table uses; a model is loaded when it first draws."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from kg.errors import CatalogueError

if TYPE_CHECKING:
    from kg.draw.sheet import Sheet

MODELS = {
    "pair": "pair.draw",
    "sprung": "sprung.draw",
    "spring-joint": "sprung.jointed",
    "crossed": "sprung.crossed",
    "rod": "rod.draw",
    "knife": "knife.draw",
    "knife-blade": "knife.blade_alone",
    "knife-handle": "knife.handle_alone",
    "retractor": "retractor.draw",
    "hinged": "spreader.hinged",
    "rack": "spreader.rack",
    "frame": "spreader.frame",
    "tube": "tube.draw",
    "shafted": "shaft.draw",
    "suture-needle": "needle.suture",
    "hollow-needle": "needle.hollow",
    "bills": "speculum.bills",
    "gutter": "speculum.gutter",
    "tubular": "speculum.tubular",
    "leaves": "speculum.leaves",
    "lids": "speculum.lids",
    "head": "obstetric.draw",
    "saw": "bone.saw",
    "wire": "bone.wire",
    "brace": "bone.brace",
    "clip": "small.clip",
    "lit-blade": "small.lit_blade",
    "gag": "small.gag",
    "mouth-tube": "small.mouth_tube",
    "caliper": "small.caliper",
    "strip": "small.strip",
    "plain": "plain.draw",
}
"""Name -> module and function below ``kg.draw.models``."""


def model(name: str) -> Callable[[Sheet], None]:
    """What draws the bodies with this model. Raises CatalogueError (BL-C04) if there is none of that name."""
    if name not in MODELS:
        raise CatalogueError("BL-C04", f'drawing.toml: there is no model "{name}"', hint=f"There are {', '.join(MODELS)}.")
    module, function = MODELS[name].split(".")
    return getattr(import_module(f"kg.draw.models.{module}"), function)
