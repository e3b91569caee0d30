"""Parts that the room's requests and answers share."""

from typing import Any

from rest_framework import serializers

from api.catalog.serializers import HEAVIEST_G
from api.web.serializers import InstantOut
from api.web.strict import StrictCharField, StrictChoiceField, StrictDecimalField, StrictSerializer, StrictUuidField

#: Longer than any syringe and any meal of a chick.
LARGEST_ML = 2000


class ChangeIn:
    """Mixed in before the shape of a new record: its fields as a correction has them.

    What is left out stays as it is. What need not be told takes a null, and is then not told any more.
    """

    #: Fields that a correction does not touch.
    fixed: tuple[str, ...] = ("id",)
    #: Fields that a record may do without.
    clearable: tuple[str, ...] = ()

    def get_fields(self) -> dict[str, Any]:
        fields: dict[str, Any] = super().get_fields()  # type: ignore[misc]
        for name in self.fixed:
            fields.pop(name)
        for name, field in fields.items():
            field.required = False
            field.default = serializers.empty  # type: ignore[attr-defined]
            field.allow_null = name in self.clearable
        return fields


class NewRecordIn(StrictSerializer):
    """What any new record may bring."""

    id = StrictUuidField(required=False, help_text="Of your own choice; the service gives one where it is missing.")


def one_of(words: Any, **options: Any) -> StrictChoiceField:
    return StrictChoiceField(choices=[word.value for word in words], **{"required": False, **options})


def mass_field(**options: Any) -> StrictDecimalField:
    return StrictDecimalField(places=3, max_value=HEAVIEST_G, **options)


def note_field() -> StrictCharField:
    return StrictCharField(required=False, allow_blank=True, multiline=True, max_length=2000)


def word(words: Any, **options: Any) -> serializers.ChoiceField:
    return serializers.ChoiceField(choices=[word.value for word in words], **options)


def text(**options: Any) -> serializers.CharField:
    return serializers.CharField(allow_null=True, **options)


def instant(**options: Any) -> InstantOut:
    return InstantOut(**options)
