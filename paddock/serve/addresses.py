"""Where other devices find this one, in letters and as a code to scan."""

from __future__ import annotations

import io
import socket

from paddock.serve.guard import is_loopback

ANY = frozenset({"", "0.0.0.0", "::"})


def url(host: str, port: int, secure: bool) -> str:
    """An address to type; the usual port is left out."""
    name = f"[{host}]" if ":" in host else host
    usual = 443 if secure else 80
    return f"{'https' if secure else 'http'}://{name}" + ("/" if port == usual else f":{port}/")


def reachable(host: str) -> tuple[str, ...]:
    """The names under which ``host`` is reached: itself, or each address of this machine where it is any."""
    if host not in ANY:
        return ("127.0.0.1",) if host == "localhost" else (host,)
    found = dict.fromkeys([*_outward(), *_named()])
    return tuple(address for address in found if not is_loopback(address)) or ("127.0.0.1",)


def _outward() -> list[str]:
    """The address packets would leave from; nothing is sent (192.0.2.1 is kept for documents, RFC 5737)."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("192.0.2.1", 9))
            return [probe.getsockname()[0]]
    except OSError:
        return []


def _named() -> list[str]:
    try:
        found = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
    except OSError:
        return []
    return sorted(f"{item[4][0]}" for item in found)


def code_svg(text: str) -> str:
    """The code as SVG to stand in a page, black on white with its quiet zone."""
    import segno

    out = io.BytesIO()
    segno.make(text, error="m").save(out, kind="svg", scale=6, border=4, dark="#000", light="#fff", xmldecl=False)
    return out.getvalue().decode()


def code_text(text: str) -> str:
    """The code in letters for a terminal."""
    import segno

    out = io.StringIO()
    segno.make(text, error="m").terminal(out, border=2, compact=True)
    return out.getvalue()
