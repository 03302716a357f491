"""What a statement of xAPI must look like, as JSON Schema: only the parts that statements of attempts have.

Written down from ADL's conformance requirements for learning record stores, version 1.0.3
(adlnet/xapi-lrs-conformance-requirements), and from its conformance tests for 2.0, which is IEEE 9274.1.1
(adlnet/lrs-conformance-test-suite, test/v2_0). The numbers of requirements, XAPI-nnnnn, stand in `$comment`.
"""

from __future__ import annotations

from typing import Any

_IRI = {
    "$comment": "XAPI-00007 and XAPI-00011: an IRI, with a scheme (RFC 3987)",
    "type": "string",
    "pattern": r"^[A-Za-z][A-Za-z0-9+.-]*:[^\s<>\"{}|\\^`]+$",
}
_LANGUAGE = {
    "$comment": "XAPI-00013 and XAPI-00091: a tag of RFC 5646; here language and perhaps region",
    "pattern": r"^[a-z]{2,3}(-([A-Z]{2}|[0-9]{3}))?$",
}
_LANGUAGE_MAP = {
    "$comment": "XAPI-00013; XAPI-00001: no empty object and nothing null",
    "type": "object",
    "minProperties": 1,
    "propertyNames": _LANGUAGE,
    "additionalProperties": {"type": "string", "minLength": 1},
}
_EXTENSIONS = {
    "$comment": "XAPI-00118 and XAPI-00120: keys are IRIs; values may be anything, XAPI-00119",
    "type": "object",
    "propertyNames": _IRI,
}
_AGENT = {
    "type": "object",
    "$comment": "XAPI-00034: exactly one identifier, here always the account; XAPI-00010: no other key",
    "required": ["account"],
    "additionalProperties": False,
    "properties": {
        "objectType": {"$comment": "XAPI-00031", "const": "Agent"},
        "account": {
            "$comment": "XAPI-00041 to XAPI-00043",
            "type": "object",
            "required": ["homePage", "name"],
            "additionalProperties": False,
            "properties": {"homePage": _IRI, "name": {"type": "string", "minLength": 1}},
        },
    },
}
_VERB = {
    "type": "object",
    "required": ["id"],
    "additionalProperties": False,
    "properties": {
        "id": {"$comment": "XAPI-00044", **_IRI},
        "display": {"$comment": "XAPI-00045", **_LANGUAGE_MAP},
    },
}
_ACTIVITY = {
    "type": "object",
    "required": ["id"],
    "additionalProperties": False,
    "properties": {
        "objectType": {"$comment": "XAPI-00046", "const": "Activity"},
        "id": {"$comment": "XAPI-00047", **_IRI},
        "definition": {
            "$comment": "XAPI-00048",
            "type": "object",
            "minProperties": 1,
            "additionalProperties": False,
            "properties": {
                "name": {"$comment": "XAPI-00056", **_LANGUAGE_MAP},
                "description": {"$comment": "XAPI-00059", **_LANGUAGE_MAP},
                "type": {"$comment": "XAPI-00060", **_IRI},
                "extensions": {"$comment": "XAPI-00057", **_EXTENSIONS},
            },
        },
    },
}
_RESULT = {
    "type": "object",
    "minProperties": 1,
    "additionalProperties": False,
    "properties": {
        "success": {"$comment": "XAPI-00074", "type": "boolean"},
        "completion": {"$comment": "XAPI-00075", "type": "boolean"},
        "duration": {
            "$comment": "XAPI-00077 and XAPI-00124: ISO 8601:2004(E), 4.4.3.2; weeks stand alone",
            "type": "string",
            "pattern": r"^P(\d+W|(?=.)(\d+Y)?(\d+M)?(\d+D)?(T(?=\d)(\d+H)?(\d+M)?(\d+(\.\d+)?S)?)?)$",
        },
        "score": {
            "$comment": "XAPI-00079 to XAPI-00083",
            "type": "object",
            "minProperties": 1,
            "additionalProperties": False,
            "properties": {"scaled": {"type": "number", "minimum": -1, "maximum": 1}},
        },
        "extensions": {"$comment": "XAPI-00078", **_EXTENSIONS},
    },
}
_CONTEXT = {
    "type": "object",
    "minProperties": 1,
    "additionalProperties": False,
    "properties": {
        "platform": {
            "$comment": "XAPI-00085 and XAPI-00090; the object is always an activity here",
            "type": "string",
        },
        "language": {"type": "string", **_LANGUAGE},
        "contextActivities": {
            "$comment": "XAPI-00093 and XAPI-00095",
            "type": "object",
            "minProperties": 1,
            "propertyNames": {"enum": ["parent", "grouping", "category", "other"]},
            "additionalProperties": {
                "$comment": "XAPI-00094, in an array as a store returns it, XAPI-00096",
                "type": "array",
                "minItems": 1,
                "items": _ACTIVITY,
            },
        },
        "extensions": _EXTENSIONS,
    },
}
STATEMENT: dict[str, Any] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "$comment": "XAPI-00008 and XAPI-00010: no other key, and none in other letters",
    "type": "object",
    "required": ["id", "actor", "verb", "object", "timestamp", "version"],
    "additionalProperties": False,
    "properties": {
        "id": {
            "$comment": "XAPI-00027 to XAPI-00030: a UUID in standard form, RFC 4122",
            "type": "string",
            "pattern": "^[0-9a-f]{8}-[0-9a-f]{4}-[1-5][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$",
        },
        "actor": {"$comment": "XAPI-00003", **_AGENT},
        "verb": {"$comment": "XAPI-00004", **_VERB},
        "object": {"$comment": "XAPI-00005", **_ACTIVITY},
        "result": _RESULT,
        "context": _CONTEXT,
        "timestamp": {
            "$comment": "XAPI-00022 and XAPI-00123: RFC 3339; test suite 2.0: -00:00 is refused",
            "type": "string",
            "format": "date-time",
            "not": {"pattern": "-00:?(00)?$"},
        },
        "version": {"$comment": "XAPI-00101, as in the test suite for 2.0", "const": "2.0.0"},
    },
}
"""The shape of a statement. By the standard id, time and version may be left out; here they may not."""
