"""The example notebook runs from top to bottom, and its six tasks give what their headings say."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import pytest

NOTEBOOK = Path(__file__).parents[1] / "lessons" / "notebook.ipynb"


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # other projects' own
        import nbclient
        import nbformat

        notebook = nbformat.read(NOTEBOOK, as_version=4)
        client = nbclient.NotebookClient(
            notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": tmp_path_factory.mktemp("notebook")}},
        )
        return client.execute()


def outputs(run: Any) -> str:
    return "\n".join(
        out.get("text", "") or str(out.get("data", {}).get("text/plain", ""))
        for cell in run.cells if cell.cell_type == "code" for out in cell.outputs
    )


def test_the_notebook_runs(run: Any) -> None:
    code = [cell for cell in run.cells if cell.cell_type == "code"]
    assert all(cell.execution_count for cell in code)
    assert not [out for cell in code for out in cell.outputs if out.output_type == "error"]


def test_it_has_six_tasks_and_the_caution(run: Any) -> None:
    text = "\n".join(cell.source for cell in run.cells if cell.cell_type == "markdown")
    assert [line[:5] for line in text.splitlines() if line.startswith("## ")] == [f"## {i}." for i in range(1, 7)]
    assert "not for setting treatment" in text


def test_what_it_shows(run: Any) -> None:
    said = outputs(run)
    for part in ("20 % widest", "Opening of the hand at 61 currents", "Why the opening changes by", "put down,",
                 "# for Tuesday\'s class", "18.0", "2 channels"):
        assert part in said
    shown = [out for cell in run.cells if cell.cell_type == "code" for out in cell.outputs if "text/html" in out.get("data", {})]
    assert len(shown) >= 5


def test_the_notebook_is_kept_without_results() -> None:
    import json

    held = json.loads(NOTEBOOK.read_text("utf-8"))
    assert all(cell["outputs"] == [] and cell["execution_count"] is None for cell in held["cells"] if cell["cell_type"] == "code")
