"""Words on conditions: what they deny and what they say of something else."""

import pytest

from firstbake.target import contact_from_words, geometry_from_words, observer_from_words


@pytest.mark.parametrize(
    ("text", "geometry"),
    [
        ("d/8 UV included", None),
        ("d/8, UV excluded", None),
        ("d/8 SCI, UV excluded", "d/8 specular included"),
        ("45/0 UV included", "45/0"),
        ("d/8 specular not included", "d/8 specular excluded"),
        ("d/8 gloss excluded", "d/8 specular excluded"),
        ("d/8 included", "d/8 specular included"),
    ],
)
def test_ultraviolet_is_not_gloss_and_not_is_heard(text, geometry):
    assert geometry_from_words(text) == geometry


@pytest.mark.parametrize(
    ("text", "contact"),
    [
        ("no optical contact", "air gap"),
        ("without contact", "air gap"),
        ("not in contact, dry", "air gap"),
        ("no air gap", ""),
        ("aluminium foil", ""),
        ("without oil", ""),
        ("glycerine gel", "optical contact"),
        ("optical contact", "optical contact"),
        ("fluid, without air bubbles", "optical contact"),
        ("air", "air gap"),
    ],
)
def test_a_denied_contact_is_none(text, contact):
    assert contact_from_words(text) == contact


@pytest.mark.parametrize(
    ("text", "observer"),
    [
        ("D65 M2", ""),
        ("F2", ""),
        ("F2 10°", "10"),
        ("D65/10", "10"),
        ("2_Degree", "2"),
        ("D65, 2 degrees", "2"),
    ],
)
def test_a_light_with_a_number_in_its_name_is_no_observer(text, observer):
    assert observer_from_words(text) == observer
