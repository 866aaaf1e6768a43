"""The keys of a study file, section by section: what they mean and what they may be."""

from collections.abc import Mapping
from typing import NamedTuple

from fem_motor.study.recording import ANSWERS


class StudyKey(NamedTuple):
    """One key: its meaning, the type of its value, and the default in words."""

    meaning: str
    type: str
    default: str = "—"


TOP: Mapping[str, StudyKey] = {
    "title": StudyKey("name of the study", "text", "required"),
    "question": StudyKey("what it answers, in a sentence", "text", "required"),
    "note": StudyKey("what the reader of the verdict must know", "text"),
    "base": StudyKey("design file, from the folder of the study file", "text", "required"),
    "quality": StudyKey('"draft", "standard" or "fine"', "quality", "standard"),
    "set": StudyKey("design keys and values that every variant has", "changes"),
    "unset": StudyKey("design keys that no variant has", "texts"),
    "record": StudyKey("names of figures of the sheet", "texts", "required"),
    "axis": StudyKey("what is varied; one or more", "axes", "required"),
    "sample": StudyKey("how ranges are drawn from", "sample"),
    "limit": StudyKey("bounds on recorded figures", "limits"),
    "figure": StudyKey("what to draw", "figures"),
    "verdict": StudyKey("how the numbers become a verdict", "verdict"),
}
AXIS: Mapping[str, StudyKey] = {
    "name": StudyKey("of the axis", "text", "the key"),
    "key": StudyKey("design key, for `values` or a range", "text"),
    "values": StudyKey("list of values of the key", "values"),
    "from": StudyKey("low end of a range", "number"),
    "to": StudyKey("high end of a range", "number"),
    "points": StudyKey("how many values from end to end, 2 to 1000", "count"),
    "steps": StudyKey("list of { label, set = { key = value, … }, unset = [key, …] }", "steps"),
}
SAMPLE: Mapping[str, StudyKey] = {
    "method": StudyKey('"random", "low-discrepancy" or "optimise"', "method", "required"),
    "number": StudyKey("designs, 1 to 10 000", "count", "required"),
    "start": StudyKey("another number gives other draws", "count", "1"),
}
LIMIT: Mapping[str, StudyKey] = {
    "of": StudyKey("a recorded name", "recorded", "required"),
    "at_least": StudyKey("lower bound", "number"),
    "at_most": StudyKey("upper bound", "number"),
}
FIGURE: Mapping[str, StudyKey] = {
    "kind": StudyKey('"values" or "curves"', "kind", "required"),
    "of": StudyKey("a recorded name; of curves, the name of a curve", "text", "required"),
    "along": StudyKey("of values: name of the axis to the right", "text", "the first axis"),
}
VERDICT: Mapping[str, StudyKey] = {
    "of": StudyKey("a recorded name", "recorded", "required"),
    "better": StudyKey('"more", "less", or "spread": say how far it scatters', "better", "more"),
    "against": StudyKey("label of the variant to hold the best against", "text", "the first"),
    "least_gain": StudyKey("part by which it must be better to be worth it", "number", "0.1"),
    "doubts": StudyKey(
        '"own": what is not known is another for each variant; "shared": the same', "doubts", "own"
    ),
}
SECTIONS: Mapping[str, Mapping[str, StudyKey]] = {
    "": TOP,
    "[[axis]]": AXIS,
    "[sample]": SAMPLE,
    "[[limit]]": LIMIT,
    "[[figure]]": FIGURE,
    "[verdict]": VERDICT,
}


def study_key_reference() -> str:
    """Return every key and the answers to record, as Markdown tables for docs/user/studies.md."""
    parts = []
    for section, keys in SECTIONS.items():
        head = f"**`{section}`**" if section else "**At the top**"
        rows = [f"| `{name}` | {key.meaning} | {key.default} |" for name, key in keys.items()]
        parts.append("\n".join([head, "", "| key | meaning | default |", "|---|---|---|", *rows]))
    answers = [f"| `{name}` | {words} | {unit} |" for name, (words, unit) in ANSWERS.items()]
    head = "**Answers for `record`, which carry a range**"
    parts.append("\n".join([head, "", "| name | what it is | unit |", "|---|---|---|", *answers]))
    return "\n\n".join(parts) + "\n"
