"""The JSON Schema of a caseload file: the rule beside each field, as any validator understands it.

What needs the rule files, the clinic date or several entries together is left to the reader; ``armrise
fields`` says in words what that is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from armrise.store.entries.build import (
    COMMON,
    HEAD,
    HEAD_REQUIRED,
    ONLY_BESIDE,
    FieldRule,
    field_rules,
)
from armrise.store.entries.values import FARTHEST_DAYS
from armrise.store.entries.words import ABSENCE_WORDS, allowed
from armrise.store.exchange.into.caseload_parser import (
    CLINIC_LENGTH,
    FORMAT,
    FORMAT_OF_A_STORE,
    FORMATS,
    LABEL_LENGTH,
    NOTE_LENGTH,
)
from armrise.store.exchange.into.numbered import OF_A_STORE, PLACE
from armrise.store.exchange.out.schema import (
    Schema,
    document,
    either,
    flat,
    many,
    mapping,
    meanings,
    ref,
    told,
    words,
)
from armrise.store.record.case import KINDS
from armrise.store.record.fields import (
    Children,
    Choice,
    ClockTime,
    Day,
    Flag,
    Number,
    Rule,
    Series,
    Whole,
    Words,
)
from armrise.store.record.kinds.head import CODE_LONGEST
from armrise.store.record.kinds.programme import DoneItem

ITEM = "item of a session"
EVERY = "every_entry"
NULL: Schema = {"type": "null"}
ONLY_OF_A_STORE = f'Only in a file of "{FORMAT_OF_A_STORE}"'
LABEL_OF = ("corrects", "replaced_by")
"""Fields that name another entry: by its id in a store, by its label in a file."""
SAY_ON = "the clinic date on which it happened"
SAY_RECORDED = "a date (18:00 clinic time) or an instant with its offset; without it the date of `on`"
SAY_LABEL = f"text of 1 to {LABEL_LENGTH} characters, unique in the case, for a correction to point at"
SAY_LABEL_OF = "the label of an entry of the same case"
SAY_NUMBER = "the place of the entry in the order of writing, over all cases of the file"
SAY_WRITTEN_WITH = "the number of the first entry of the same action; without it the entry came in a file"
SAY_RECORDED_ON = "the clinic date of the recording, where it is not the date of `recorded` in the zone"
SAY_NOTE = "what the file is, for whoever opens it; not read"
SAY_CODE = f"letters, digits, hyphens, dots: 1 to {CODE_LONGEST} of them"

# Both what validators call "." and "$" and what they take for white space differ between languages.
_CONTROL = r"\u0000-\u001f\u007f-\u009f\u2028\u2029"
_BLANKS, _SIGN, _ANY = rf"[^\S{_CONTROL}]*", rf"[^\s{_CONTROL}]", rf"[^{_CONTROL}]"
_END = r"(?![\s\S])"


def caseload_schema() -> Schema:
    """The schema of a whole file."""
    top = {
        "format": words(FORMATS),
        "note": told({"type": "string", "maxLength": NOTE_LENGTH}, f"{SAY_NOTE}. {ONLY_OF_A_STORE}"),
        "clinic_date": told(iso_day(), "the day the file was made; dates may count from it"),
        "zone": told(
            {"type": "string"}, 'the region of the clinic\'s clock, such as "Europe/London", or "UTC"'
        ),
        "fictional": told({"type": "boolean"}, "true where nobody in it exists"),
        "clinic": told({"type": "string", "maxLength": CLINIC_LENGTH}, "free text on one line"),
        "cases": many(ref("case")),
    }
    parts = {"case": _case(), "entry": _entry(), "day": _day(), EVERY: mapping(_common(), tuple(_common()))}
    parts |= {key_of(kind): _kind(of) for kind, of in KINDS.items()} | {key_of(ITEM): _record(DoneItem)}
    whole = mapping(top, ("note", "fictional", "clinic"))
    return document("armrise caseload file", whole | _first_format(), parts)


def _first_format() -> Schema:
    """A file of the first format has none of what the second one added."""
    entry = {"not": {"anyOf": [{"required": [name]} for name in OF_A_STORE]}}
    entries = {"properties": {"entries": {"items": entry}}}
    return {
        "if": {"properties": {"format": {"const": FORMAT}}},
        "then": {"not": {"required": ["note"]}, "properties": {"cases": {"items": entries}}},
    }


def key_of(kind: str) -> str:
    """The name under which a kind stands among the parts: a reference holds no blanks."""
    return kind.replace(" ", "_")


def of_rule(rule: Rule) -> Schema:
    """What a field of this rule may hold."""
    match rule:
        case Whole() | Number():
            return _number(rule)
        case Choice():
            return words(rule.words)
        case Words():
            return text(rule.shortest, rule.longest)
        case Flag():
            return {"type": "boolean"}
        case Day():
            return ref("day")
        case ClockTime():
            return {"type": "string", "pattern": f"^([01][0-9]|2[0-3]):[0-5][0-9]{_END}"}
        case Series():
            number = {"type": "number", "minimum": rule.low, "maximum": rule.high}
            return {**many(either(number, NULL) if rule.blanks else number), "maxItems": rule.most}
        case Children():
            return many(ref(key_of(ITEM)))


def _number(rule: Whole | Number) -> Schema:
    """Decimals are not counted: by the arithmetic of most validators 0.07 is no multiple of 0.01."""
    kind = "integer" if isinstance(rule, Whole) else "number"
    number = {"type": kind, "minimum": rule.low, "maximum": rule.high}
    return either(number, words(ABSENCE_WORDS)) if rule.absent else number


def text(shortest: int, longest: int) -> Schema:
    """One line of so many characters, not counting blanks at its ends."""
    inner = f"{_ANY}{{{max(shortest - 2, 0)},{max(longest - 2, 0)}}}{_SIGN}"
    signs = f"{_SIGN}({inner})?" if shortest < 2 else f"{_SIGN}{inner}"
    return {"type": "string", "pattern": f"^{_BLANKS}{signs}{_BLANKS}{_END}"}


def iso_day() -> Schema:
    """A date of 1900 to 2199."""
    return {
        "type": "string",
        "format": "date",
        "pattern": rf"^(19|20|21)[0-9]{{2}}-[0-9]{{2}}-[0-9]{{2}}{_END}",
    }


def _day() -> Schema:
    number = {"type": "integer", "minimum": -FARTHEST_DAYS, "maximum": FARTHEST_DAYS}
    return told(either(iso_day(), number), allowed(Day()))


def _label() -> Schema:
    return {"type": "string", "minLength": 1, "maxLength": LABEL_LENGTH, "pattern": r"\S"}


def _recorded() -> Schema:
    offset = rf"(Z|[+-][0-9]{{2}}(:?[0-9]{{2}}){{0,2}}){_END}"
    return either(ref("day"), {"type": "string", "pattern": f"^[0-9]{{4}}.*[0-9].*{offset}"}, NULL)


def _case() -> Schema:
    """A case and its entries."""
    pattern = rf"^[A-Za-z0-9][A-Za-z0-9._-]{{0,{CODE_LONGEST - 1}}}{_END}"
    code = told({"type": "string", "pattern": pattern}, SAY_CODE)
    head = {name: _stated(rule, name not in HEAD_REQUIRED) for name, rule in HEAD.items()}
    own = {"code": code, **head, "entries": many(ref("entry"))}
    return mapping(own, [name for name in own if name not in ("code", *HEAD_REQUIRED)])


def _stated(rule: Rule, null: bool) -> Schema:
    return either(of_rule(rule), NULL) if null else of_rule(rule)


def _common() -> dict[str, Schema]:
    """The fields every entry has."""
    common = {name: _stated(rule, name != "on") for name, rule in COMMON.items()}
    common["on"] = told(common["on"], SAY_ON)
    common["recorded"] = told(_recorded(), SAY_RECORDED)
    number = {"type": "integer", "minimum": PLACE.low, "maximum": PLACE.high}
    own = {
        "label": told(either(_label(), NULL), SAY_LABEL),
        "number": told(either(number, NULL), SAY_NUMBER),
        "written_with": told(either(number, NULL), SAY_WRITTEN_WITH),
        "recorded_on": told(either(ref("day"), NULL), SAY_RECORDED_ON),
    }
    return common | own


def _entry() -> Schema:
    """An entry of any kind: the kind says which of the parts it has to be."""
    return {
        "type": "object",
        "properties": {"kind": words(tuple(KINDS))},
        "required": ["kind", "on"],
        "allOf": [
            {"if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]}, "then": ref(key_of(kind))}
            for kind in KINDS
        ],
    }


def _kind(of: Any) -> Schema:
    """The fields every entry has, and those of the kind."""
    own = _record(of)
    common = {name: ref(f"{EVERY}/properties/{name}") for name in _common()}
    own["properties"] = {"kind": {"const": of.KIND}, **common, **own["properties"]}
    own["required"] = ["kind", "on", *own["required"]]
    return own | _beside(*ONLY_BESIDE[of.KIND]) if of.KIND in ONLY_BESIDE else own


def _record(of: type) -> Schema:
    """The fields of a record type, each by its rule."""
    specs, say = field_rules(of), meanings(of)
    own = mapping(
        {spec.name: told(_field(spec), _meaning(spec, say.get(spec.name, ""))) for spec in specs},
        [spec.name for spec in specs if not spec.required],
    )
    return told(own, flat(of.__doc__ or ""))


def _meaning(spec: FieldRule, say: str) -> str:
    unit = getattr(spec.rule, "unit", "")
    if spec.name in LABEL_OF:
        return SAY_LABEL_OF
    return f"{unit}. {say}" if unit and say else unit or say


def _field(spec: FieldRule) -> Schema:
    """A field that may be left out may be null too, except where null could be taken for an answer."""
    schema = _label() if spec.name in LABEL_OF else of_rule(spec.rule)
    if spec.required or spec.default == ():
        return schema
    return either(schema, NULL) if spec.default is None else {**schema, "default": spec.default}


def said_of(spec: FieldRule, meanings: Mapping[str, str]) -> Iterable[str]:
    """What a field may hold and what holds without it, then what it means where that is said."""
    say = allowed(spec.rule)
    if isinstance(spec.rule, Children):
        say = f"a list of objects, each an {ITEM}"
    if spec.name in LABEL_OF:
        say = SAY_LABEL_OF
    if not spec.required and spec.default not in (None, ()):
        default = f'"{spec.default}"' if isinstance(spec.default, str) else str(spec.default).lower()
        say = f"{say}; without it {default}"
    yield f"{say}."
    if spec.name in meanings:
        yield meanings[spec.name]


def _beside(decides: str, allowing: tuple[str, ...], only: tuple[str, ...]) -> Schema:
    """Some fields say something beside some answers alone."""
    nothing = {"enum": [None, False]}
    allowed_beside = {"properties": {decides: words(allowing)}}
    return {"if": allowed_beside, "then": {}, "else": {"properties": dict.fromkeys(only, nothing)}}
