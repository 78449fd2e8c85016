"""Personal settings: read, or the default with a sentence."""

from __future__ import annotations

from pathlib import Path

from paddock.store.personal import read_personal


def test_the_settings_may_ask_for_a_bell(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    assert read_personal(path).bell == 0
    path.write_text("bell = 12\n", "utf-8")
    assert read_personal(path).bell == 12
    for text in ("bell = 91", "bell = true", 'bell = "8"'):
        path.write_text(text, "utf-8")
        assert read_personal(path).bell == 0
        assert "bell: whole minutes" in read_personal(path).wrong[0]
