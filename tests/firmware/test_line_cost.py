"""What a sample line may cost a board: 256 bytes of heap where a word has 32 bits, twice that where it has 64."""

from tests.bench.line import costs


def test_a_line_costs_little_heap_and_less_than_f_strings():
    told = costs()
    assert told["heap_bytes"] <= 256 * told["bits"] // 32
    assert told["heap_bytes"] < told["f_string_heap_bytes"]
