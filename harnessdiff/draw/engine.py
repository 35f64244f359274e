"""The layout engine in a process of its own: DOT sources in, positions out.

Run as ``python -m harnessdiff.draw.engine``: reads a JSON list of DOT sources from its input and
writes the engine's JSON output for each. Graphviz inside the pygraphviz wheel does the work; a
crash or a hang of it ends this process and nothing else.
"""

from __future__ import annotations

import json
import sys


def main() -> None:
    """Lay out every source and write the results."""
    import pygraphviz  # noqa: PLC0415 - only in the child

    results = []
    for source in json.load(sys.stdin):
        graph = pygraphviz.AGraph(string=source)
        results.append(json.loads(graph.draw(format="json", prog="dot")))
    json.dump(results, sys.stdout)


if __name__ == "__main__":
    main()
