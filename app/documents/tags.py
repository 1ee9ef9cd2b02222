"""The last pass over a PDF: what readers of tables need and WeasyPrint leaves out.

Header cells get the direction they head (Scope, ISO 32000-1 table 349), and cells that are named get the list of names
that the standard asks for beside them (IDTree, ISO 32000-1 table 322). Running heads, feet and page numbers become artifacts
(PDF/UA-1, 7.8; ISO 32000-1, 14.8.2.2): WeasyPrint marks them as content and leaves them out of the structure tree. Read in
summaries, not in the standards themselves.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import pikepdf


def finish(made: bytes) -> bytes:
    """The same PDF with scopes and names, written so that the same input gives the same bytes."""
    with pikepdf.open(io.BytesIO(made)) as pdf:
        root = pdf.Root.get("/StructTreeRoot")
        if root is not None:
            named: dict[bytes, Any] = {}
            for element, inside in _walk(root, ()):
                if element.get("/S") == "/TH":
                    _scope(pdf, element, "/Column" if "/THead" in inside else "/Row")
                if "/ID" in element:
                    named[bytes(element.ID)] = element
            if named:
                root.IDTree = _id_tree(pdf, named)
            _make_artifacts(pdf, root)
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True, linearize=False, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()


def _make_artifacts(pdf: pikepdf.Pdf, root: Any) -> None:
    """What is marked as content but stands outside the tree, every margin of a sheet, is said to be of the sheet alone."""
    read = _reached(root)
    parents = dict(_pairs(root.ParentTree.Nums))
    for page in pdf.pages:
        number, changed = int(page.objgen[0]), []
        instructions: list[Any] = list(pikepdf.parse_content_stream(page))
        for at, one in enumerate(instructions):
            mcid = _marked(one)
            if mcid is not None and (number, mcid) not in read:
                changed.append(mcid)
                instructions[at] = pikepdf.ContentStreamInstruction(
                    [pikepdf.Name.Artifact, pikepdf.Dictionary(Type=pikepdf.Name.Pagination)], one.operator)
        if changed:
            page.Contents = pdf.make_stream(pikepdf.unparse_content_stream(instructions))
            elements = parents[int(page.obj.StructParents)]
            for mcid in changed:
                elements[mcid] = None


def _marked(one: Any) -> int | None:
    """The number of the marked content that an instruction begins; None for any other."""
    if str(one.operator) != "BDC" or not isinstance(one.operands[1], pikepdf.Dictionary):
        return None
    mcid = one.operands[1].get("/MCID")
    return None if mcid is None else int(mcid)


def _reached(root: Any) -> set[tuple[int, int]]:
    """The number of the page object and of the marked content, for all that the structure tree leads to."""
    found = set()
    for element, _ in _walk(root, ()):
        kids = element.get("/K")
        for kid in (kids if isinstance(kids, pikepdf.Array) else [kids]):
            if isinstance(kid, int):
                found.add((int(element.Pg.objgen[0]), int(kid)))
            elif isinstance(kid, pikepdf.Dictionary) and "/MCID" in kid:
                found.add((int(kid.get("/Pg", element.get("/Pg")).objgen[0]), int(kid.MCID)))
    return found


def _pairs(numbers: Any) -> Iterator[tuple[int, Any]]:
    for at in range(0, len(numbers), 2):
        yield int(numbers[at]), numbers[at + 1]


def _walk(element: Any, inside: tuple[str, ...]) -> Iterator[tuple[Any, tuple[str, ...]]]:
    kids = element.get("/K")
    if kids is None:
        return
    for kid in (kids if isinstance(kids, pikepdf.Array) else [kids]):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid, inside
            yield from _walk(kid, (*inside, str(kid.S)))


def _scope(pdf: pikepdf.Pdf, cell: Any, scope: str) -> None:
    """Add the scope to whatever attributes the cell has."""
    attributes = cell.get("/A")
    ours = pikepdf.Dictionary(O=pikepdf.Name("/Table"), Scope=pikepdf.Name(scope))
    if attributes is None:
        cell.A = ours
        return
    several = attributes if isinstance(attributes, pikepdf.Array) else pikepdf.Array([attributes])
    for one in several:
        if isinstance(one, pikepdf.Dictionary) and one.get("/O") == "/Table":
            one.Scope = pikepdf.Name(scope)
            return
    cell.A = pikepdf.Array([*several, ours])


def _id_tree(pdf: pikepdf.Pdf, named: dict[bytes, Any]) -> Any:
    """A name tree of one leaf, sorted."""
    names = pikepdf.Array()
    for name in sorted(named):
        names.append(pikepdf.String(name))
        names.append(named[name])
    ends = pikepdf.Array([pikepdf.String(min(named)), pikepdf.String(max(named))])
    return pdf.make_indirect(pikepdf.Dictionary(Kids=pikepdf.Array(
        [pdf.make_indirect(pikepdf.Dictionary(Limits=ends, Names=names))])))
