"""The files that browsers are given: found, stamped, and imported by names that lead to one."""

from __future__ import annotations

import re
from pathlib import Path

from graspwave.apps.web import source
from graspwave.apps.web.source import address, imports_of, stamp, web_file, web_files, web_text


def test_files_for_browsers() -> None:
    apps = Path(source.__file__).parents[1]
    assert web_file("web/draw.js") == (apps / "web" / "draw.js").read_bytes()
    for name in ("../compiled.py", "web/source.py", "none.js", "", "draw.js", "web/../web/draw.js"):
        assert web_file(name) is None
    assert address("web/draw.js") == f"/web/{stamp()}/web/draw.js"
    assert len(stamp()) == 10


def exported(text: str) -> set[str]:
    lists = re.findall(r"^export \{([^}]*)\}", text, re.MULTILINE)
    return {
        *re.findall(r"^export (?:async )?(?:function\*?|const|let|class) (\w+)", text, re.MULTILINE),
        *(name.strip() for listed in lists for name in listed.split(",")),
    }


def test_every_import_of_a_module_is_read_and_leads_to_one() -> None:
    files = web_files()
    for path in files:
        if path.endswith(".js"):
            found = imports_of(path, web_text(path))
            assert set(found) <= set(files), path
            for names, one in re.findall(r"^import \{([^}]*)\}\s+from '([^']+)'", web_text(path), re.MULTILINE):
                there = web_text(imports_of(path, f"import {{ a }} from '{one}'")[0])
                wanted = {name.strip().split(" as ")[0] for name in names.split(",") if name.strip()}
                assert wanted <= exported(there), (path, one)
            # a form of import that is not read would be left out of a file that stands alone
            assert len(found) == len(re.findall(r"^import |^export [{*].*? from ", web_text(path), re.MULTILINE)), path


def test_no_style_sheet_stands_in_a_module() -> None:
    for path in web_files():
        if path.endswith(".js"):
            assert not re.search(r"cssText|replaceSync|<style|createElement\('style'|element\('style'", web_text(path)), path
