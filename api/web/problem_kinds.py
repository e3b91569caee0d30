"""The published list of problem types (RFC 9457): stable slugs, fixed titles, what each means."""

from dataclasses import dataclass


@dataclass(frozen=True)
class ProblemKind:
    slug: str
    status: int
    title: str
    meaning: str


_KINDS = (
    ProblemKind(
        "malformed-body",
        400,
        "The body cannot be read",
        "The body is not a JSON object as RFC 8259 has it: a syntax fault, a name given twice, NaN, bytes that "
        "are not UTF-8, or nesting without end. Nothing was stored.",
    ),
    ProblemKind(
        "invalid-request",
        400,
        "The request does not fit the description",
        "A field or query parameter is missing, unknown, null, of the wrong type or not one of the listed words. "
        "Each fault stands in errors with a pointer. Nothing was stored.",
    ),
    ProblemKind(
        "not-authenticated",
        401,
        "A valid token is needed",
        "Send Authorization: Bearer followed by a token that is neither expired nor revoked.",
    ),
    ProblemKind(
        "not-permitted",
        403,
        "The token does not allow this",
        "The token is valid but lacks the scope, or its owner the role, that this needs.",
    ),
    ProblemKind(
        "not-found",
        404,
        "There is nothing at this address",
        "The address is unknown, or the thing is not one of your network's. Addresses end without a slash.",
    ),
    ProblemKind(
        "method-not-allowed",
        405,
        "This address does not take that method",
        "The Allow header lists the methods that it takes.",
    ),
    ProblemKind(
        "not-acceptable",
        406,
        "No representation fits the Accept header",
        "Send Accept: application/json, or leave it out.",
    ),
    ProblemKind(
        "conflict",
        409,
        "The request conflicts with what is stored",
        "Read the present state, then decide again.",
    ),
    ProblemKind("gone", 410, "This is no longer kept", "It was here and has been removed for good."),
    ProblemKind(
        "precondition-failed",
        412,
        "The record has changed meanwhile",
        "If-Match names another version than the present one. Fetch the record and apply the change to it.",
    ),
    ProblemKind(
        "body-too-large",
        413,
        "The body is too large",
        "Send fewer items in one request.",
    ),
    ProblemKind(
        "unsupported-media-type",
        415,
        "The body is of a type that is not read here",
        "Send Content-Type: application/json, in UTF-8, without a content encoding.",
    ),
    ProblemKind(
        "refused",
        422,
        "Well formed, but refused",
        "The values are of the right type but cannot be answered for: an impossible age, a mass of nought, an "
        "unknown species. Each fault stands in errors with what would do. Nothing was stored.",
    ),
    ProblemKind(
        "precondition-required",
        428,
        "If-Match is needed",
        "Send the ETag of the version that you have seen in If-Match, so that no one's change is lost.",
    ),
    ProblemKind(
        "quota-exceeded",
        429,
        "Too many requests",
        "Wait as long as Retry-After says. RateLimit tells beforehand how many are left.",
    ),
    ProblemKind(
        "internal-error",
        500,
        "The service failed",
        "The fault is ours. Tell the operator the instance: it finds the entry in the log.",
    ),
    ProblemKind(
        "not-ready",
        503,
        "The service is not ready",
        "Something that it stands on does not answer. Try again shortly.",
    ),
)

KINDS = {kind.slug: kind for kind in _KINDS}
BY_STATUS = {kind.status: kind for kind in reversed(_KINDS)}
BY_STATUS[400] = KINDS["invalid-request"]
