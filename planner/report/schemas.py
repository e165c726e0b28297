"""JSON Schemas (2020-12) of what commands write with ``--json``, by pydantic from the documents' classes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from planner.report.check.page import CheckPage
from planner.report.common.json_data import Document, adapter_of
from planner.report.moves.page import MovesDocument
from planner.report.plan.json_file import PlanDocument
from planner.report.quiet.page import QuietDocument
from planner.report.tradeoff.page import TradeoffDocument
from planner.report.verify.page import VerifyPage
from planner.report.why.page import WhyDocument

DOCUMENTS: Mapping[str, type[Document]] = {
    "check": CheckPage,
    "plan": PlanDocument,
    "moves": MovesDocument,
    "quiet": QuietDocument,
    "tradeoff": TradeoffDocument,
    "verify": VerifyPage,
    "why": WhyDocument,
}
NAMES = tuple(DOCUMENTS)


class _AsWritten(GenerateJsonSchema):
    """Describes what is written: every field is there, and its name needs no title."""

    def field_is_required(self, *_: Any, **_named: Any) -> bool:
        """Say that a field is there, whatever it is by default."""
        return True

    def field_title_should_be_set(self, *_: Any) -> bool:
        """Say that a field's name is title enough."""
        return False


def schema_of(name: str) -> dict[str, Any]:
    """Build the schema of a command's output; KeyError when there is none of that name."""
    made = adapter_of(DOCUMENTS[name]).json_schema(schema_generator=_AsWritten, mode="serialization")
    return {"$schema": _AsWritten.schema_dialect, **made, "title": made["properties"]["format"]["const"]}
