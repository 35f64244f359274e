"""The layout engine in a process of its own: DOT sources in, positions out.

Run as ``python -m harnessdiff.draw.engine``: reads JSON lists of DOT sources from its input, one a
line, and writes a line with the engine's JSON output for each. Graphviz inside the pygraphviz
wheel does the work; a crash or a hang of it ends this process and nothing else.
"""

from __future__ import annotations

import json
import sys


def main() -> None:
    """Answer every line of sources with a line of results, until there are no more."""
    import pygraphviz  # noqa: PLC0415 - only in the child

    for line in sys.stdin:
        results = []
        for source in json.loads(line):
            graph = pygraphviz.AGraph(string=source)
            results.append(json.loads(graph.draw(format="json", prog="dot")))
        json.dump(results, sys.stdout)
        sys.stdout.write("\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
