"""Papers as they were issued. Frozen: a change is a new revision that names the one it replaces."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.documents.rules import Kind
from app.shop.queries import the_shop
from app.shop.wording import Pack

PDF = "application/pdf"
PAGE = "text/html"  # on a machine that makes no PDFs: the whole paper as one page, to print from the browser


class IssuedDocument(Base):
    """One paper: its bytes and its page by their SHA-256, and the journal's newest hash that is printed on it."""

    __tablename__ = "issued_document"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    kind: Mapped[Kind] = mapped_column(words(Kind, "document_kind"))
    about_id: Mapped[int] = mapped_column(default=0)  # which notice; 0 where there is one paper of the kind
    revision: Mapped[int]
    replaces_id: Mapped[int | None] = mapped_column(sa.ForeignKey("issued_document.id"), unique=True)
    sha256: Mapped[str] = mapped_column(info={"stored": True})
    page_sha256: Mapped[str] = mapped_column(info={"stored": True})
    facts_sha256: Mapped[str]  # of the facts in their one form; of the page where facts_version is 0
    facts_version: Mapped[int] = mapped_column(default=0)  # 0: issued before facts were told from the page
    draft: Mapped[str] = mapped_column(default="")  # what it was marked with: 'not tested, not out'; empty if nothing
    media_type: Mapped[str]
    size: Mapped[int]
    journal_hash: Mapped[str] = mapped_column(info={"journal": True})  # the newest entry when it was issued
    issued_at: Mapped[datetime]
    issued_by: Mapped[str]

    replaces: Mapped[IssuedDocument | None] = relationship(remote_side=[id])

    __table_args__ = (
        sa.UniqueConstraint("order_id", "kind", "about_id", "revision"),
        sa.CheckConstraint("revision >= 1 AND (revision = 1) = (replaces_id IS NULL)", name="replaces_the_one_before"),
        sa.CheckConstraint("length(sha256) = 64 AND length(page_sha256) = 64 AND length(facts_sha256) = 64"
                           " AND length(journal_hash) = 64", name="hashed"),
        sa.CheckConstraint(f"media_type IN ('{PDF}', '{PAGE}')", name="media_known"),
        sa.CheckConstraint("size > 0", name="not_empty"),
    )

    @property
    def title(self) -> str:
        return self.titled(the_shop().wording)

    def titled(self, wording: Pack) -> str:
        """Its name in one wording, whichever the shop uses."""
        return f"{self.kind.called(wording)}, revision {self.revision}{' (draft)' if self.draft else ''}"

    @property
    def is_pdf(self) -> bool:
        return self.media_type == PDF


class LabelTied(Base):
    """A label that was issued is tied to its amp: which revision, when, by whom. Never changed."""

    __tablename__ = "label_tied"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    document_id: Mapped[int] = mapped_column(sa.ForeignKey("issued_document.id"), unique=True)
    at: Mapped[datetime]
    by_name: Mapped[str]


class ShopLogo(Base):
    """A picture at the head of papers: the file as it came and its two copies, by their SHA-256. The newest that is not withdrawn
    is printed; an earlier one stays readable.
    """

    __tablename__ = "shop_logo"

    id: Mapped[int] = mapped_column(primary_key=True)
    sha256: Mapped[str] = mapped_column(info={"stored": True})
    web_sha256: Mapped[str] = mapped_column(info={"stored": True})
    thumb_sha256: Mapped[str] = mapped_column(info={"stored": True})
    media_type: Mapped[str]
    width: Mapped[int]
    height: Mapped[int]
    added_at: Mapped[datetime]
    added_by: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("length(sha256) = 64 AND length(web_sha256) = 64 AND length(thumb_sha256) = 64", name="hashed"),
        sa.CheckConstraint("width > 0 AND height > 0", name="has_size"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_by = '')", name="withdrawn_by_someone"),
    )
