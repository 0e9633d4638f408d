"""A lesson as a package that a course's player takes: SCORM 1.2, one item, one file, the standard's own schemas beside it.

ADL, Sharable Content Object Reference Model 1.2 (2001): Content Aggregation Model for the manifest, Run-Time Environment for what
the lesson reports (`apps/web/reported.js`). The schema files are those that ADL and IMS published for it.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from markupsafe import escape

from graspwave.apps import notices
from graspwave.apps.carry.lesson import lesson_file

__all__ = ["manifest", "scorm_package"]

_SCHEMAS = ("adlcp_rootv1p2.xsd", "imscp_rootv1p1p2.xsd", "ims_xml.xsd")
_CHANGED = (1980, 1, 1, 0, 0, 0)
"""Time of every file in a package: the same lesson gives the same bytes."""


def manifest(slug: str, title: str) -> str:
    """The package's ``imsmanifest.xml``.

    Parameters
    ----------
    slug, title : str
        Of the lesson.
    """
    # a title of the standard has at most 200 characters
    name, words = f"graspwave-{escape(slug)}", escape(title[:200])
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<!-- {escape(notices.caution_text())} -->
<manifest identifier="{name}" version="1.0"
  xmlns="http://www.imsproject.org/xsd/imscp_rootv1p1p2" xmlns:adlcp="http://www.adlnet.org/xsd/adlcp_rootv1p2"
  xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
  xsi:schemaLocation="http://www.imsproject.org/xsd/imscp_rootv1p1p2 imscp_rootv1p1p2.xsd
    http://www.adlnet.org/xsd/adlcp_rootv1p2 adlcp_rootv1p2.xsd">
  <metadata><schema>ADL SCORM</schema><schemaversion>1.2</schemaversion></metadata>
  <organizations default="course">
    <organization identifier="course"><title>{words}</title>
      <item identifier="lesson" identifierref="file" isvisible="true"><title>{words}</title></item>
    </organization>
  </organizations>
  <resources>
    <resource identifier="file" type="webcontent" adlcp:scormtype="sco" href="index.html"><file href="index.html"/></resource>
  </resources>
</manifest>
"""


def scorm_package(lesson: Mapping[str, Any]) -> bytes:
    """A compiled lesson as the bytes of a zip file."""
    told = manifest(str(lesson["slug"]), str(lesson["title"]))
    texts = {"imsmanifest.xml": told, "index.html": lesson_file(lesson, reports=True)}
    texts |= {name: (files(__package__) / "scorm" / name).read_text("utf-8") for name in _SCHEMAS}
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in texts.items():
            entry = zipfile.ZipInfo(name, _CHANGED)
            entry.compress_type, entry.external_attr = zipfile.ZIP_DEFLATED, 0o644 << 16
            package.writestr(entry, text)
    return held.getvalue()
