"""Canonical JSON against the published cases of RFC 8785.

The documents are those of its author's test data (github.com/cyberphone/
json-canonicalization, testdata), known by the SHA-256 and length of their output;
the numbers are those of RFC 8785, appendix B.
"""

import hashlib
import json
import math
import struct

import pytest

from shared.canonical import canonical

ARRAYS = r"""
[
  56,
  {
    "d": true,
    "10": null,
    "1": [ ]
  }
]
"""
FRENCH = r"""
{
  "peach": "This sorting order",
  "péché": "is wrong according to French",
  "pêche": "but canonicalization MUST",
  "sin":   "ignore locale"
}
"""
STRUCTURES = r"""
{
  "1": {"f": {"f": "hi","F": 5} ,"\n": 56.0},
  "10": { },
  "": "empty",
  "a": { },
  "111": [ {"e": "yes","E": "no" } ],
  "A": { }
}
"""
UNICODE = r"""
{
  "Unnormalized Unicode":"A\u030a"
}
"""
VALUES = r"""
{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}
"""
WEIRD = r"""
{
  "\u20ac": "Euro Sign",
  "\r": "Carriage Return",
  "\u000a": "Newline",
  "1": "One",
  "\u0080": "Control\u007f",
  "\ud83d\ude02": "Smiley",
  "\u00f6": "Latin Small Letter O With Diaeresis",
  "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "</script>": "Browser Challenge"
}
"""


@pytest.mark.parametrize(
    ("document", "length", "sha256"),
    [
        (ARRAYS, 32, "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42"),
        (FRENCH, 130, "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5"),
        (STRUCTURES, 98, "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5"),
        (UNICODE, 30, "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3"),
        (VALUES, 118, "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb"),
        (WEIRD, 214, "6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1"),
    ],
    ids=["arrays", "french", "structures", "unicode", "values", "weird"],
)
def test_documents_of_the_test_data(document, length, sha256):
    written = canonical(json.loads(document))

    assert (len(written), hashlib.sha256(written).hexdigest()) == (length, sha256)


@pytest.mark.parametrize(
    ("document", "written"),
    [
        (ARRAYS, '[56,{"1":[],"10":null,"d":true}]'),
        (
            STRUCTURES,
            '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},'
            '"111":[{"E":"no","e":"yes"}],"A":{},"a":{}}',
        ),
        (UNICODE, '{"Unnormalized Unicode":"A\u030a"}'),
        ("[333333333.33333329, 1E30, 4.50, 2e-3]", "[333333333.3333333,1e+30,4.5,0.002]"),
        ("[0.000000000000000000000000001]", "[1e-27]"),
    ],
    ids=["arrays", "structures", "unicode", "numbers", "small"],
)
def test_documents_in_full(document, written):
    assert canonical(json.loads(document)) == written.encode()


@pytest.mark.parametrize(
    ("ieee_hex", "text"),
    [
        ("0000000000000000", "0"),
        ("8000000000000000", "0"),
        ("0000000000000001", "5e-324"),
        ("8000000000000001", "-5e-324"),
        ("7fefffffffffffff", "1.7976931348623157e+308"),
        ("ffefffffffffffff", "-1.7976931348623157e+308"),
        ("4340000000000000", "9007199254740992"),
        ("c340000000000000", "-9007199254740992"),
        ("4430000000000000", "295147905179352830000"),
        ("44b52d02c7e14af5", "9.999999999999997e+22"),
        ("44b52d02c7e14af6", "1e+23"),
        ("44b52d02c7e14af7", "1.0000000000000001e+23"),
        ("444b1ae4d6e2ef4e", "999999999999999700000"),
        ("444b1ae4d6e2ef4f", "999999999999999900000"),
        ("444b1ae4d6e2ef50", "1e+21"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
        ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("41b3de4355555553", "333333333.3333332"),
        ("41b3de4355555554", "333333333.33333325"),
        ("41b3de4355555555", "333333333.3333333"),
        ("41b3de4355555556", "333333333.3333334"),
        ("41b3de4355555557", "333333333.33333343"),
        ("becbf647612f3696", "-0.0000033333333333333333"),
        ("43143ff3c1cb0959", "1424953923781206.2"),
    ],
)
def test_numbers_of_appendix_b(ieee_hex, text):
    (number,) = struct.unpack(">d", bytes.fromhex(ieee_hex))

    assert canonical(number) == text.encode()


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused(number):
    with pytest.raises(ValueError):
        canonical({"number": number})
