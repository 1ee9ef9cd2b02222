"""The papers of an order: as they would be now, issuing one, and those that were issued."""

from __future__ import annotations

from flask import Blueprint, flash, make_response, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may, person
from app.access.rules import May
from app.documents import queries, service
from app.documents.gate import ISSUED_BY
from app.documents.make import PhotoLost, make
from app.documents.models import IssuedDocument
from app.documents.paper import Paper, facts_of, paper, still_says
from app.documents.pdf import PdfBusy, PdfUnavailable
from app.documents.rules import Kind, file_name, photos_in, with_resources
from app.errors import NotFound, Unavailable
from app.handover import queries as handover
from app.kernel.facts import Comparison
from app.kernel.links import linked
from app.kernel.saving import saving
from app.money import queries as money
from app.orders.gates import missing_in
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.orders.stages import Stage
from app.photos.store import the_store
from app.quote import queries as quotes

bp = Blueprint("documents", __name__)


@bp.get("/orders/<int:order_id>/papers")
@may(May.SEE)
def page(order_id: int) -> str:
    """Every kind of paper with what was issued of it."""
    order = load_order(order_id)
    kinds = [Kind.RECEIPT, *([Kind.ESTIMATE] if quotes.current(order) else []), Kind.REPORT,
             *([Kind.UNREPAIRED] if handover.unrepaired(order_id) else [])]
    return render_template("documents/page.html", order=order, kinds=kinds, issued=queries.of_order(order_id),
                           replaced=queries.replaced(order_id), notices=handover.notices(order_id),
                           account=money.account(order_id))


@bp.get("/orders/<int:order_id>/papers/<kind>")
@may(May.SEE)
def twin(order_id: int, kind: str) -> str:
    """A paper as things stand now, on the screen: the same page that would be issued."""
    order = load_order(order_id)
    return _show(order, paper(order, _kind(kind), request.args.get("about", 0, type=int)))


@bp.post("/orders/<int:order_id>/papers/<kind>")
@may(May.SEE)
def issue(order_id: int, kind: str) -> Response | tuple[str, int]:
    """Issue it: rendered and stored first, then written down. Where no PDF can be made, or a photo is lost, the page says so."""
    order = load_order(order_id, ISSUED_BY[_kind(kind)])
    if not _kind(kind).is_money:
        must_be_open(order)
    ready = paper(order, _kind(kind), request.form.get("about", 0, type=int))
    now = clock.now()
    try:
        made = make(order, ready, now=now, as_page=request.form.get("as_page") == "yes")
    except (PdfUnavailable, PhotoLost) as wrong:
        return _show(order, ready, wrong=wrong), wrong.status
    with saving() as saved:
        document = service.issue(load_order(order_id), made, by=actor(), now=now)
        answer = saved("documents.issued", document_id=document.id)
    flash(f"{document.title}, is issued and frozen.", "saved")
    return answer


@bp.get("/orders/<int:order_id>/receipt")
@may(May.SEE)
def receipt(order_id: int) -> str:
    """The receipt that was just issued, to be given to the customer; or what keeps it back."""
    order = load_order(order_id)
    newest = queries.newest(order_id, Kind.RECEIPT)
    changed = newest is not None and still_says(newest, facts_of(order, Kind.RECEIPT)) is Comparison.CHANGED
    return render_template("documents/receipt.html", order=order, newest=newest, changed=changed,
                           missing=linked(missing_in(order, Stage.INTAKE)) if order.stage is Stage.INTAKE else ())


@bp.get("/papers/<int:document_id>")
@may(May.SEE)
def issued(document_id: int) -> str:
    """A paper as it was issued, on the screen, with the file and its fingerprint."""
    document, order = _find(document_id)
    body = the_store().get(document.page_sha256).decode()
    return render_template("documents/issued.html", order=order, document=document, body=_for_screen(body),
                           later=_later(document), name=_name(document, order), is_label=document.kind is Kind.UNREPAIRED,
                           tied=queries.tied(document_id) if document.kind is Kind.UNREPAIRED else None,
                           struck=_struck(document))


@bp.post("/papers/<int:document_id>/tied")
@may(May.HAND_OUT)
def tie(document_id: int) -> Response:
    """The label is tied to the amp."""
    document, order = _find(document_id)
    with saving() as saved:
        service.tie_label(order, document, by=actor(), now=clock.now())
        flash("Recorded: the label is tied to the amp.", "saved")
        return saved("handover.unrepaired_page", order_id=order.id)


@bp.get("/papers/<int:document_id>/file")
@may(May.SEE)
def file(document_id: int) -> Response:
    """The very bytes that were issued, under a name that we make."""
    document, order = _find(document_id)
    answer = make_response(the_store().get(document.sha256))
    answer.mimetype = document.media_type
    shown = "inline" if document.is_pdf and not request.args.get("save") else "attachment"
    answer.headers["Content-Disposition"] = f'{shown}; filename="{_name(document, order)}"'
    return answer


def _show(order: RepairOrder, ready: Paper, wrong: Unavailable | None = None) -> str:
    newest = queries.newest(order.id, ready.kind, ready.about_id)
    stands = still_says(newest, ready.facts) if newest is not None else Comparison.CHANGED
    return render_template("documents/twin.html", order=order, paper=ready, logo=queries.shop_logo(),
                           may_issue=person().may(ISSUED_BY[ready.kind]),
                           body=_for_screen(ready.page), newest=newest,
                           same=stands is Comparison.SAME, not_told=stands is Comparison.NOT_TOLD, wrong=wrong,
                           as_page=isinstance(wrong, PdfUnavailable) and not isinstance(wrong, PdfBusy),
                           has_errors=wrong is not None)


def _for_screen(page: str) -> Markup:
    """The page with its photos at their addresses here. It was written by our own templates, which escape what was typed."""
    found = photos_in(page)
    if not found:
        return Markup(page)  # noqa: S704 - see above
    at = {address: url_for("photos.show", photo_id=photo_id, size="web") for address, (photo_id, _) in found.items()}
    return Markup(with_resources(page, at))  # noqa: S704 - see above


def _kind(word: str) -> Kind:
    try:
        return Kind(word)
    except ValueError:
        raise NotFound("There is no such paper.") from None


def _find(document_id: int) -> tuple[IssuedDocument, RepairOrder]:
    document = queries.find(document_id)
    if document is None:
        raise NotFound("There is no such paper.")
    return document, load_order(document.order_id)


def _later(document: IssuedDocument) -> IssuedDocument | None:
    newest = queries.newest(document.order_id, document.kind, document.about_id)
    return newest if newest is not None and newest.id != document.id else None


def _struck(document: IssuedDocument) -> str:
    """Why the payment that this paper is a receipt of does not count any more; empty for any other."""
    entry = money.find_entry(document.about_id) if document.kind is Kind.PAYMENT else None
    return entry.struck_reason if entry is not None else ""


def _name(document: IssuedDocument, order: RepairOrder) -> str:
    return file_name(order.number, document.kind, document.revision, document.media_type)
