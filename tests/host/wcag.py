"""Contrast by the formula of WCAG 2.1."""


def luminance(colour: str) -> float:
    """Return the relative luminance, as WCAG 2.1 defines it."""
    channels = (int(colour[index : index + 2], 16) / 255 for index in (1, 3, 5))
    linear = [one / 12.92 if one <= 0.03928 else ((one + 0.055) / 1.055) ** 2.4 for one in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
