"""The key lines that `make mutants` breaks stand where the list says, each once."""

from tests.copies import ROOT
from tests.mutants import MUTANTS


def test_every_key_line_stands_once():
    stands = {key.what: (ROOT / key.file).read_text(encoding="utf-8").count(key.text) for key in MUTANTS}
    assert set(stands.values()) == {1}, [what for what, count in stands.items() if count != 1]
