"""Which position, face or part each reading of a thickness cell is of (rule T13)."""

from dataclasses import replace

from brakedata.cells import words
from brakedata.cells.lining_tokens import DRIVER_KEYS, KERB_KEYS, KEY_WORDS, Known, Label, Stop, Token
from brakedata.cells.position import opposite
from brakedata.cells.reading import ask


def labels_by_run(names: list[list[Token]], flat: list[Token], known: Known) -> list[list[Label]]:
    """Labels of each run of position words, ``flat`` being all of them in a row."""
    labels = labels_of(flat, known)
    out, at = [], 0
    for piece in names:
        count = len(labels_of(piece, known, evidence=flat))
        out.append(labels[at : at + count])
        at += count
    return out


def key_notes(flat: list[Token], known: Known) -> list[str]:
    """What was assumed about the positions."""
    found = {tok.text for tok in flat} - dict(known.codes).keys()
    notes = []
    if found & DRIVER_KEYS.keys():
        notes.append(f"the driver sits on the {known.driver}")
    return notes


def labels_of(tokens: list[Token], known: Known, evidence: list[Token] | None = None) -> list[Label]:
    """Labels in a row of position words; a second axle, side or face opens the next label, gaps are filled from neighbours."""
    found = {tok.text for tok in (evidence or tokens) if tok.kind == "K"}
    labels: list[Label] = []
    fresh = True
    for tok in tokens:
        if tok.kind in ",&":
            fresh = True
        elif tok.kind == "K":
            word = _meaning(tok.text, found, known)
            last = labels[-1] if labels else None
            clash = last and any(getattr(last, s) and getattr(word, s) for s in ("axle", "side", "face", "part"))
            if last is None or fresh or clash:
                labels.append(word)
            else:
                labels[-1] = Label(*(getattr(last, s) or getattr(word, s) for s in ("axle", "side", "face", "part")))
            fresh = False
    return _filled(labels) if evidence is None else labels


def _filled(labels: list[Label]) -> list[Label]:
    """Axle from the neighbour where only the side is named, wheel from the neighbour where only the face is named."""
    for order in (range(1, len(labels)), range(len(labels) - 2, -1, -1)):
        step = -1 if order.step == 1 else 1
        for i in order:
            here, near = labels[i], labels[i + step]
            if here.side and not here.axle and near.axle and near.side:
                labels[i] = replace(here, axle=near.axle)
            elif here.face and not here.axle and not here.side and near.face and near.axle:
                labels[i] = replace(here, axle=near.axle, side=near.side)
    return labels


def _meaning(word: str, found: set[str], known: Known) -> Label:
    codes = dict(known.codes)
    if word in codes:
        names = codes[word].split()
        return Label(
            "front" if "front" in names else "rear" if "rear" in names else None,
            names[-1] if names[-1] in ("left", "right") else None,
        )
    if word in ("pad", "pads", "lining"):
        return Label(part="shoe" if word == "lining" and found & {"drum", "drums"} else "pad")
    if word == "in":
        return Label(face="inner")
    if word in KEY_WORDS:
        return KEY_WORDS[word]
    if word in DRIVER_KEYS:
        who, axle = DRIVER_KEYS[word]
        if known.driver is None:
            raise Stop(ask("driver's and passenger's side: on which side does the driver sit?", "driver_side", "T13"))
        return Label(axle, known.driver if who == "driver" else opposite(known.driver))
    if word in KERB_KEYS:
        which, axle = KERB_KEYS[word]
        if known.nearside is None:
            raise Stop(ask("near side and off side: on which side does traffic keep?", "traffic_side", "T13"))
        return Label(axle, known.nearside if which == "near" else opposite(known.nearside))
    return _open_letter(word, found)


def _open_letter(word: str, found: set[str]) -> Label:
    """R, FR and RR by the cell's other positions."""
    fronts, lefts = bool(found & ({"f"} | words.FRONT)), bool(found & ({"l"} | words.LEFT))
    if word == "r" and fronts != lefts:
        return Label(axle="rear") if fronts else Label(side="right")
    if word == "r" and fronts and lefts and found & words.FRONT and "f" not in found:
        return Label(side="right")
    if word == "fr" and found & {"fl", "rl"}:
        return Label("front", "right")
    if word == "fr" and found & words.REAR:
        return Label(axle="front")
    if word == "rr" and found & {"lf", "rf", "lr", "fl", "rl", "lhf", "rhf"}:
        return Label("rear", "right")
    if word == "rr" and fronts:
        return Label(axle="rear")
    raise Stop(ask(f"{word.upper()}: rear or right?", "words", "T13"))


def completed(label: Label, known: Known) -> Label:
    """The label with what the header says: under "Front", left is LF."""
    if label.part or label.face and not (label.axle or label.side):
        return label
    axle = label.axle or known.axle
    side = label.side or (known.side if label.axle and not known.axle else None)
    return replace(label, axle=axle, side=side)


def is_own(label: Label, known: Known) -> bool:
    """Whether the label says no more than the header."""
    own = Label(known.axle, known.side)
    return bool(known.axle) and replace(label, part=None) == own and label.part in (None, "pad")


def name_of(label: Label, labels: list[Label], known: Known) -> str:
    """Key of the answer's dict: LF, front, inner, rotor ..."""
    wheels = {(lab.axle, lab.side) for lab in labels}
    if label.face and (label.axle, label.side) in ((None, None), (known.axle, known.side)):
        return label.face
    if label.part and len(wheels) == 1:
        return label.part
    if label.axle and label.side:
        return f"{label.side[0]}{label.axle[0]}".upper()
    if label.axle:
        return label.axle
    raise Stop(ask("which position is which?", "words", "T13"))
