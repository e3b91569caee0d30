"""Serializers that refuse what they do not know, for bodies and for query strings."""

from collections.abc import Mapping
from typing import Any, ClassVar

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request

from api.web.problem import Fault, faults_of, faults_problem
from api.web.strict.alternatives import OneOf
from api.web.strict.fields import did_you_mean, kind_of


class StrictSerializer(serializers.Serializer[Any]):
    """An object with the fields declared and no others.

    A view validates with ``StrictSerializer.read(request)``: the validated values, or a problem.
    """

    default_error_messages = {"invalid": "An object is needed, not {got}."}
    #: Fields that stand for each other.
    alternatives: ClassVar[tuple[OneOf, ...]] = ()

    @classmethod
    def read(cls, request: Request, **context: Any) -> dict[str, Any]:
        """The validated body of the request; raises 400 or 422 with every fault."""
        serializer = cls(data=request.data, context={"request": request, **context})
        serializer.is_valid(raise_exception=True)
        return dict(serializer.validated_data)

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, Mapping):
            message = self.error_messages["invalid"].format(got=kind_of(data))
            raise ValidationError({"non_field_errors": [ErrorDetail(message, code="invalid")]})
        errors = self._unknown(data)
        try:
            value = super().to_internal_value(data)
        except ValidationError as error:
            errors = {**error.detail, **errors}  # type: ignore[dict-item]
        if errors:
            raise ValidationError(errors)
        return value

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if errors := self.faults_between(attrs):
            raise ValidationError(errors)
        return attrs

    def faults_between(self, attrs: Mapping[str, Any]) -> dict[str, list[ErrorDetail]]:
        """What is wrong with the fields together, by the field to be mended."""
        return {name: told for one in self.alternatives for name, told in one.faults(attrs).items()}

    def _unknown(self, data: Mapping[str, Any]) -> dict[str, list[ErrorDetail]]:
        known = [name for name, field in self.fields.items() if not field.read_only]
        return {
            name: [ErrorDetail(f"There is no field of this name.{did_you_mean(name, known)}", "unknown_field")]
            for name in data
            if name not in known
        }


class QueryParameters(StrictSerializer):
    """The query string: text for every value, each parameter once, none that is unknown; pointers ``?name``.

    Lists are read from a repeated parameter.
    """

    @classmethod
    def read(cls, request: Request, **context: Any) -> dict[str, Any]:
        """The validated parameters; raises 400 or 422 with every fault."""
        serializer = cls(context={"request": request, **context})
        values: dict[str, Any] = {}
        faults: list[Fault] = []
        for name, texts in request.query_params.lists():
            field = serializer.fields.get(name)
            if field is None:
                hint = did_you_mean(name, list(serializer.fields))
                faults.append(Fault(f"?{name}", "unknown_parameter", f"There is no parameter of this name.{hint}"))
            elif isinstance(field, serializers.ListField):
                values[name] = [_from_text(field.child, text) for text in texts]
            elif len(texts) > 1:
                faults.append(Fault(f"?{name}", "repeated_parameter", "Give this parameter once."))
            else:
                values[name] = _from_text(field, texts[0])
        serializer = cls(data=values, context={"request": request, **context})
        if not serializer.is_valid():
            given_twice = {fault.pointer for fault in faults}
            faults += [
                fault for fault in map(_at_query, faults_of(serializer.errors)) if fault.pointer not in given_twice
            ]
        if faults:
            raise faults_problem(faults)
        return dict(serializer.validated_data)

    def _unknown(self, data: Mapping[str, Any]) -> dict[str, list[ErrorDetail]]:
        return {}  # told apart in ``read``, where a parameter's name is known as such


def _from_text(field: Any, text: str) -> Any:
    read = getattr(field, "from_text", None)
    return read(text) if read else text


def _at_query(fault: Fault) -> Fault:
    return Fault("?" + fault.pointer.lstrip("/").split("/")[0] if fault.pointer else "", fault.code, fault.detail)
