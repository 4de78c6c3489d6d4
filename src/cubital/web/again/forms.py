"""The code of a receipt, as it is read from a paper."""

from __future__ import annotations

from django import forms

from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm


class ReceiptForm(PlainForm):
    """One code, in whatever way it is typed."""

    receipt = forms.CharField(max_length=40, widget=forms.TextInput(attrs={"autocomplete": "off", "size": 20}))

    def say(self) -> None:
        self.name_field(
            "receipt",
            _("Receipt"),
            _("The code at the foot of the paper, such as R-2YKQ-PGG0-N20S; capitals and hyphens may be left out."),
        )

    def missing_words(self) -> dict[str, str]:
        return {"receipt": _("Please write the code of a receipt.")}
