"""The models, glyphs and icons by the names that the drawing table uses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache

from kg.draw.sheet import Sheet


@cache
def models() -> Mapping[str, Callable[[Sheet], None]]:
    """Name -> what draws it."""
    from kg.draw.models import (
        bone,
        knife,
        needle,
        obstetric,
        pair,
        plain,
        retractor,
        rod,
        small,
        speculum,
        spreader,
        tube,
        tweezers,
    )

    return {
        "pair": pair.draw,
        "tweezers": tweezers.draw,
        "spring-joint": tweezers.jointed,
        "crossed": tweezers.crossed,
        "rod": rod.draw,
        "knife": knife.draw,
        "knife-blade": knife.blade_alone,
        "knife-handle": knife.handle_alone,
        "retractor": retractor.draw,
        "hinged": spreader.hinged,
        "rack": spreader.rack,
        "frame": spreader.frame,
        "tube": tube.draw,
        "shafted": tube.shafted,
        "suture-needle": needle.suture,
        "hollow-needle": needle.hollow,
        "bills": speculum.bills,
        "gutter": speculum.gutter,
        "tubular": speculum.tubular,
        "leaves": speculum.leaves,
        "lids": speculum.lids,
        "head": obstetric.draw,
        "saw": bone.saw,
        "wire": bone.wire,
        "brace": bone.brace,
        "clip": small.clip,
        "laryngoscope": small.laryngoscope,
        "gag": small.gag,
        "airway": small.airway,
        "caliper": small.caliper,
        "strip": small.strip,
        "plain": plain.draw,
    }
