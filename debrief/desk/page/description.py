"""The page's own interface as an OpenAPI 3.1 description, made from the models that check its requests."""
from typing import Any

from pydantic import BaseModel

from ... import __version__
from . import asked

_TEXT = {"type": "string"}
_REFUSAL = {"type": "object", "required": ["error", "what", "todo"], "properties": {"error": _TEXT, "what": _TEXT, "todo": _TEXT}}
_ROW = {"type": "object", "required": ["key", "kind", "text", "certainty", "state", "revision", "fields"], "properties": {
    "key": _TEXT, "kind": _TEXT, "text": _TEXT, "certainty": _TEXT, "state": {"enum": ["standing", "rejected"]},
    "revision": {"type": "integer"}, "fields": {"type": "array", "items": {"type": "object"}}}}
_ROWS = {"type": "object", "required": ["rows"], "properties": {"rows": {"type": "array", "items": {"$ref": "#/components/schemas/Row"}}}}
_NUMBER = {"name": "number", "in": "path", "required": True, "description": "number of a row", "schema": {"type": "integer", "minimum": 1,
                                                                                                        "maximum": asked.MOST_WHOLE}}

_READS: dict[str, tuple[str, type[BaseModel], dict[str, Any]]] = {
    "/api/session": ("what the session is, what can be chosen, how far the work is", asked.Nothing,
                     {"type": "object", "required": ["title", "token", "kinds", "recordings", "choices", "counts", "seal"]}),
    "/api/rows": ("one page of the list", asked.RowsQuery,
                  {"type": "object", "required": ["total", "before", "token", "entries"], "properties": {
                      "total": {"type": "integer"}, "before": {"type": "integer"}, "token": _TEXT,
                      "entries": {"type": "array", "items": {"$ref": "#/components/schemas/Row"}}}}),
    "/api/rows/{number}": ("a row with its history", asked.Nothing, {"$ref": "#/components/schemas/Row"}),
    "/api/talk": ("the turns around one", asked.TalkQuery, {"type": "object", "required": ["turn", "turns"]}),
    "/api/passage": ("the sound that runs through a row and the rows beside it that are left, and these rows", asked.PassageQuery,
                     {"type": "object", "required": ["clip", "rows"], "properties": {
                         "clip": {"type": ["object", "null"]}, "rows": {"type": "array", "items": {"$ref": "#/components/schemas/Row"}}}}),
    "/api/changes": ("whether anything changed", asked.ChangesQuery, {"type": "object", "required": ["token", "changed"]}),
}
_DEEDS: dict[str, tuple[str, type[BaseModel], dict[str, Any]]] = {
    "/api/rows/{number}/accept": ("a person heard the sound and the row is right", asked.Decide, _ROWS),
    "/api/rows/{number}/reject": ("a person heard the sound and there is no such row", asked.Decide, _ROWS),
    "/api/rows/{number}/change": ("set fields of a row; same: other rows of the name that it had", asked.Change, _ROWS),
    "/api/rows/{number}/split": ("one row into several", asked.Split, _ROWS),
    "/api/accept": ("rows of one sound, all of them right, in one deed", asked.AcceptTogether, _ROWS),
    "/api/rename": ("a name for one field of several rows, as it was put right in one", asked.Rename, _ROWS),
    "/api/merge": ("rows into the first of them", asked.Merge, _ROWS),
    "/api/add": ("a row by hand over marked sound", asked.Add, _ROWS),
    "/api/undo": ("take a deed back", asked.Undo, _ROWS),
    "/api/heard": ("a place that gave no row was heard", asked.HeardPlace, _ROWS),
    "/api/write": ("write sheet, tables and captions anew into the session's folder", asked.Nothing,
                   {"type": "object", "required": ["folder", "token"], "properties": {"folder": _TEXT, "token": _TEXT}}),
    "/api/sign": ("sign the session as it stands", asked.Sign, {"type": "object", "required": ["seal", "token"]}),
}


def description() -> dict[str, Any]:
    """The whole description; paths are under the path of the start."""
    schemas: dict[str, Any] = {"Refusal": _REFUSAL, "Row": _ROW}
    paths: dict[str, Any] = {}
    for path, (says, model, answer) in _READS.items():
        paths[path] = {"get": _operation(path, says, answer) | {"parameters": [*_path_parameters(path), *_query(model, schemas)]}}
    for path, (says, model, answer) in _DEEDS.items():
        body = {"required": True, "content": {"application/json": {"schema": _schema(model, schemas)}}}
        paths[path] = {"post": _operation(path, says, answer) | {"parameters": _path_parameters(path), "requestBody": body}}
    paths["/sound/{recording}/{channel}/{start}-{end}.wav"] = {"get": _sound()}
    return {"openapi": "3.1.0", "info": {"title": "debrief review page", "version": __version__,
                                         "description": "For this machine only, by the holder of the start's cookie."},
            "paths": paths, "components": {"schemas": schemas}}


def _operation(path: str, says: str, answer: dict[str, Any]) -> dict[str, Any]:
    refused = {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Refusal"}}}}
    told = {"403": "not let in", "404": "no such thing", "409": "changed since the person looked", "413": "too long", "414": "address too long",
            "415": "not JSON", "421": "wrong host", "422": "refused, with the reason", "429": "too many requests", "503": "the store"}
    name = path.strip("/").replace("/", "_").replace("{", "").replace("}", "")
    return {"operationId": name, "summary": says, "responses": {
        "200": {"description": says, "content": {"application/json": {"schema": answer}}},
        **{status: {"description": text, **refused} for status, text in told.items()}}}


def _path_parameters(path: str) -> list[dict[str, Any]]:
    return [_NUMBER] if "{number}" in path else []


def _schema(model: type[BaseModel], schemas: dict[str, Any]) -> dict[str, Any]:
    made = model.model_json_schema(ref_template="#/components/schemas/{model}")
    schemas.update(made.pop("$defs", {}))
    return made


def _query(model: type[BaseModel], schemas: dict[str, Any]) -> list[dict[str, Any]]:
    made = _schema(model, schemas)
    return [{"name": name, "in": "query", "required": name in made.get("required", ()), "schema": _given(schema)}
            for name, schema in made.get("properties", {}).items()]


def _given(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema without null: what is not asked is left out of an address."""
    return next((item for item in schema.get("anyOf", ()) if item.get("type") != "null"), schema)


def _sound() -> dict[str, Any]:
    whole = {"type": "integer", "minimum": 0, "maximum": asked.MOST_WHOLE}
    made = _operation("sound", "a stretch of a channel as WAV; samples at 16 kHz on the recording's clock", {})
    made["responses"]["200"]["content"] = {"audio/wav": {"schema": {"type": "string", "format": "binary"}}}
    made["responses"] |= {status: {"description": text} for status, text in {"206": "the bytes asked for", "416": "no such bytes"}.items()}
    made["parameters"] = [{"name": "recording", "in": "path", "required": True, "schema": {"type": "string", "pattern": "^[a-z0-9]{1,12}$"}},
                          *({"name": name, "in": "path", "required": True, "schema": whole} for name in ("channel", "start", "end"))]
    return made
