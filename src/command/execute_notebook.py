"""Executes one notebook in the TypeScript kernel and writes the executed copy and the body of its page.

usage: python execute_notebook.py NOTEBOOK FOLDER SECONDS    ->  FOLDER/NAME.ipynb, FOLDER/NAME.body.html

The kernel reports an error as text of the cell and not in its reply, so the command line of nbconvert ends without
saying what went wrong. Here the failing cell is named and its text printed. Exit code 1: a cell failed, or took longer
than SECONDS; 2: the kernel did not start.
"""

import pathlib
import re
import sys
import warnings

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError
from nbconvert import HTMLExporter

warnings.simplefilter("ignore")

# The error of a call that no cell awaits reaches nobody. These two cells, run before and after, catch it.
LISTEN = """{ const late: string[] = []; Object.assign(globalThis, { lateErrors: late });
process.on('unhandledRejection', (reason) => late.push(String(reason))); }"""
REPORT = """{ await new Promise((resolve) => setTimeout(resolve, 20));
const late = (globalThis as unknown as { lateErrors: string[] }).lateErrors;
if (late.length > 0) throw new Error(`A call that is not awaited failed: ${late.join('; ')}`); }"""


def words_of(cell):
    """What the cell wrote as errors, without the places inside Node and the kernel."""
    text = "".join(output.get("text", "") for output in cell.outputs if output.get("name") == "stderr")
    inside = re.compile(r"^ +at .*(node:|tslab|evalmachine)")
    return "\n".join(line for line in text.strip().splitlines() if not inside.match(line))


def show_picture_whole(data):
    """The exporter strips an SVG of all it draws (it trusts none) but leaves HTML as it is."""
    if "image/svg+xml" in data:
        data["text/html"] = f"<figure>{data.pop('image/svg+xml')}</figure>"


def duration(seconds):
    return f"{seconds // 60} minutes" if seconds >= 120 else f"{seconds} seconds"


def main(source, folder, seconds):
    notebook = nbformat.read(source, as_version=4)
    client = NotebookClient(
        notebook,
        kernel_name="tslab",
        startup_timeout=180,
        resources={"metadata": {"path": str(source.parent)}},
    )
    listen, report = nbformat.v4.new_code_cell(LISTEN), nbformat.v4.new_code_cell(REPORT)
    notebook.cells = [listen, *notebook.cells, report]
    cell, failure = None, None
    try:
        with client.setup_kernel():
            for number, cell in enumerate(notebook.cells):
                # The first cell is ours and takes a moment: a kernel that leaves it unanswered has not come up.
                client.timeout = 180 if cell is listen else seconds
                client.execute_cell(cell, number)
    except CellExecutionError:
        where = "" if cell is listen or cell is report else f"Cell {number} failed:\n{cell.source.strip()}\n\n"
        failure = where + words_of(cell)
    except (RuntimeError, TimeoutError) as error:
        if cell is None or cell is listen:
            print(error, file=sys.stderr)
            return 2
        late = isinstance(error, TimeoutError)
        what = f"gave no answer within {duration(seconds)} and was stopped" if late else "ended the kernel"
        print(f"Cell {number} {what}:\n{cell.source.strip()}\n", file=sys.stderr)
        return 1
    notebook.cells = notebook.cells[1:-1]

    nbformat.write(notebook, folder / source.name)
    if failure:
        print(failure, file=sys.stderr)
        return 1
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            show_picture_whole(output.get("data", {}))
    body, _ = HTMLExporter(template_name="basic").from_notebook_node(notebook)
    (folder / f"{source.stem}.body.html").write_text(body, encoding="utf-8")
    return 0


sys.exit(main(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), int(sys.argv[3])))
