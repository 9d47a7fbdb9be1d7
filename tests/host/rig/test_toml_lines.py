"""Lines of keys: expected values counted by hand in the text beside them."""

from __future__ import annotations

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from hingeline.rig.toml_mistakes import KeyLines, split_key

TEXT = '''# 1
top = 1
list = [
  [1, 2],
  ["[not.a.header]", "x = 1"]
]
long = """
inside = 3
[inside]
"""
[a . "b c"]          # 11
d.e = { f = 1, g = 2 }
'q.r' = 1
[[part]]
x = 1
[part.sub]
y = 2
[[part]]
x = 3
"esc\\u0061ped" = 1
'''

LINES = {
    ("top",): 2,
    ("list",): 3,
    ("list", 1): 3,
    ("long",): 7,
    ("inside",): 1,
    ("a",): 11,
    ("a", "b c"): 11,
    ("a", "b c", "d", "e", "f"): 12,
    ("a", "b c", "q.r"): 13,
    ("a", "b c", "missing"): 11,
    ("part", 0): 14,
    ("part", 0, "x"): 15,
    ("part", 0, "sub"): 16,
    ("part", 0, "sub", "y"): 17,
    ("part", 1): 18,
    ("part", 1, "x"): 19,
    ("part", 1, "escaped"): 20,
    ("nowhere",): 1,
}


@pytest.mark.parametrize(("key", "line"), LINES.items(), ids=str)
def test_a_key_is_found_on_its_line(key, line):
    assert KeyLines(TEXT)[key] == line


@given(st.lists(st.text(min_size=1), min_size=1, max_size=4))
def test_a_quoted_key_of_any_names_is_split_into_them(names):
    dotted = ".".join(tomlkit.key([name, "x"]).as_string().removesuffix(".x") for name in names)
    assert split_key(dotted) == tuple(names)


@pytest.mark.parametrize("text", ["", "a b", "a..b", "a = 1", ".a", "a\nb"])
def test_what_is_no_key_is_refused(text):
    with pytest.raises(ValueError, match="is no key"):
        split_key(text)
