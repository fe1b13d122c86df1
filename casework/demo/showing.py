"""How does the demo tell what happened: lines on the screen, papers and a page in a folder."""

import html

from django.core.files.storage import default_storage

from casework.audit.queries import trail_of

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Casework demo: {code}</title>
<style>body{{font:16px/1.5 sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}}
table{{border-collapse:collapse}}td,th{{padding:.2rem .8rem .2rem 0;text-align:left;
vertical-align:top}}</style></head><body>
<h1>Case {code}</h1>
<p>People, parties, implants, materials and scans of this demo are invented; the meshes are
synthetic. Casework makes no medical judgement.</p>
<h2>Stage by stage</h2><table>{steps}</table>
<h2>What the checks found</h2><table>{findings}</table>
<h2>Papers</h2><ul>{papers}</ul>
<h2>Trail</h2><ol>{trail}</ol>
</body></html>
"""


def write_summary(folder, story, lines):
    """Write the papers of the story's case and its summary page; returns the page's path."""
    folder.mkdir(parents=True, exist_ok=True)
    case = story.case
    names = []
    for paper in case.order.papers.filter(state="printed").order_by("issued_at", "pk"):
        name = f"{paper.number}-{paper.kind}.pdf".replace("/", "-")
        with default_storage.open(paper.storage_key) as stored:
            (folder / name).write_bytes(stored.read())
        names.append(name)
    trail = trail_of(case.code, party=case.order.practice)
    page = PAGE.format(
        code=html.escape(case.code),
        steps=_rows(lines),
        findings=_rows((f.weight, f.title, f.subject, f.wrong) for f in story.found),
        papers="".join(_link(name) for name in names),
        trail="".join(
            f"<li>{line.at:%Y-%m-%d} {html.escape(line.who)}: {html.escape(line.what)}</li>"
            for line in trail
        ),
    )
    path = folder / "summary.html"
    path.write_text(page)
    return path


def _link(name):
    return f'<li><a href="{html.escape(name)}">{html.escape(name)}</a></li>'


def _rows(rows):
    return "".join(
        "<tr>" + "".join(f"<td>{html.escape(str(cell))}</td>" for cell in row) + "</tr>"
        for row in rows
    )
