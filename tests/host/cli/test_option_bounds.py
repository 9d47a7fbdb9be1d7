"""Options that take a number, as docs/reference.md names them: their default, and how far they go."""

import click
import pytest

from hingeline.cli import cli

BOUNDS = {
    ("calibrate", "--off-level"): (0.25, 0.01, 3),
    ("calibrate", "--squareness"): (0.2, 0.01, 5),
    ("centring", "--times"): (5, 2, 20),
    ("droop", "--for"): (60, 10, 600),
    ("linkage", "--servo-travel"): (45, 5, 90),
    ("noise", "--for"): (120, 10, 3600),
    ("play", "--cycles"): (5, 1, 20),
    ("sweep", "--sweeps"): (2, 1, 20),
    ("throws", "--cycles"): (1, 1, 20),
    ("throws", "--hold"): (None, 0.3, 10),
    ("neutral", "--hold"): (None, 0.3, 10),
    ("warm-up", "--minutes"): (15, 0.5, 120),
    ("wifi", "--tcp-port"): (8771, 1, 65535),
}
SWITCHES = {
    "calibrate": {"--accept"},
    "boards": {"--identify"},
    "datum": {"--reversal"},
    "doctor": {"--record", "--system"},
    "install": {"--sources", "--watchdog"},
    "throws": {"--plain", "--page", "--page-capture", "--quiet", "--speak"},
    "virtual": {"--stay", "--tcp"},
    "warm-up": {"--tempco"},
    "wifi": {"--off"},
}
"""What is off unless it is named; `--json` and `--no-input` go with every command."""
SEVERAL = (("boards", "--port"), ("linkage", "--arm-hole"), ("linkage", "--horn-hole"))


def options(command: str) -> dict[str, click.Option]:
    context = click.Context(cli)
    made = cli.get_command(context, command)
    return {each.opts[0]: each for each in made.params if isinstance(each, click.Option)}


@pytest.mark.parametrize(("place", "bounds"), BOUNDS.items(), ids=str)
def test_a_number_has_its_default_and_its_bounds(place, bounds):
    command, name = place
    default, least, most = bounds
    option, context = options(command)[name], click.Context(cli)
    assert default is None or option.get_default(context) == default
    for value in (least, most):
        assert option.type.convert(str(value), option, context) == value
    step = 1 if isinstance(option.type, click.types.IntParamType) else 0.001
    for value in (least - step, most + step, "much", "nan", "inf"):
        with pytest.raises(click.BadParameter):
            option.type.convert(str(value), option, context)


@pytest.mark.parametrize("command", SWITCHES)
def test_a_switch_is_off_unless_it_is_named(command):
    switches = {name: option for name, option in options(command).items() if option.is_flag}
    assert set(switches) == SWITCHES[command] | {"--json", "--no-input"}
    assert not any(option.get_default(click.Context(cli)) is True for option in switches.values())


@pytest.mark.parametrize(("command", "name"), SEVERAL)
def test_what_may_be_given_several_times(command, name):
    assert options(command)[name].multiple
    assert not options("throws")["--left"].multiple
