"""The only code that touches the disk.

``text`` bytes to text; ``layout`` and ``csvfile`` one CSV file with every byte kept; ``tomlfile`` one TOML
file; ``folder`` the whole event; ``glance`` what the first paint needs; ``disk`` durable writes;
``journal``, ``steps``, ``plan`` and ``commit`` an edit on its way to the disk and back; ``watch`` other hands.
"""
