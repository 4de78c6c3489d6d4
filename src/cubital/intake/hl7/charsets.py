"""From the bytes of one message to text, whatever its header says about them."""

from __future__ import annotations

# Names of MSH-18 (HL7 table 0211, memory) and what senders write instead. cp1252 holds all of 8859/1 and the signs that
# Windows systems put into it.
_CODECS = {
    "8859/1": "cp1252", "8859/2": "iso8859_2", "8859/3": "iso8859_3", "8859/4": "iso8859_4", "8859/5": "iso8859_5",
    "8859/6": "iso8859_6", "8859/7": "iso8859_7", "8859/8": "iso8859_8", "8859/9": "iso8859_9", "8859/15": "iso8859_15",
    "iso ir14": "iso2022_jp", "iso ir87": "iso2022_jp", "iso ir159": "iso2022_jp", "gb 18030-2000": "gb18030",
    "ks x 1001": "euc_kr", "cns 11643-1992": "big5", "big-5": "big5",
}  # fmt: skip
_MARKS = dict.fromkeys(map(ord, "\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff"))


def decode_message(data: bytes) -> tuple[str, bool]:
    """The message as text without null bytes and marks of writing direction, and whether MSH-18 was wrong.

    Valid UTF-8 with accents is UTF-8, whatever MSH-18 says: by chance such bytes do not come about. Else MSH-18 holds,
    and where it names nothing that reads the bytes they are taken for Western European.
    """
    if b"\x00" in data:
        data = data.replace(b"\x00", b"")
    if data.isascii():
        stated = b"\x1b$" in data and _stated_codec(data)  # Japanese written in seven bits
        return (_strict(data, stated) if stated else None) or data.decode("ascii"), False
    stated = _stated_codec(data)
    text = _strict(data, "utf-8")
    if text is not None:
        return text.translate(_MARKS), stated not in ("", "utf-8")
    text = _strict(data, stated) if stated not in ("", "utf-8") else None
    if text is not None:
        return text.translate(_MARKS), False
    return (_strict(data, "cp1252") or data.decode("latin-1")).translate(_MARKS), stated != ""


def _strict(data: bytes, codec: str) -> str | None:
    try:
        return data.decode(codec)
    except UnicodeDecodeError:
        return None


def _stated_codec(data: bytes) -> str:
    """The codec of MSH-18; empty for none, for ASCII and for a name not known."""
    header = data[:2000].split(b"\r", 1)[0].split(b"\n", 1)[0]
    fields = header.split(header[3:4]) if len(header) > 3 else []
    name = fields[17].decode("latin-1").split("~")[0].strip().lower() if len(fields) > 17 else ""
    if "utf-8" in name or name in ("unicode", "utf8"):
        return "utf-8"
    name = name.removeprefix("iso").strip(" -_") if "8859" in name else name
    return _CODECS.get(name.replace("8859-", "8859/").replace("8859_", "8859/"), "")
