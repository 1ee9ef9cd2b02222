"""The last pass over a PDF: what readers of tables need and WeasyPrint leaves out.

Header cells get the direction they head (Scope, ISO 32000-1 table 349), and cells that are named get the list of names
that the standard asks for beside them (IDTree, ISO 32000-1 table 322). Read in a summary, not in the standard itself.
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
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True, linearize=False, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()


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
