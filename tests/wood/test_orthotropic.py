"""Plane stiffness of wood: closed forms, published relations and invariants."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fesolve.errors import InputError
from fesolve.wood.orthotropic import OrthotropicPlane, stress_rotation

W1 = OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)

# Compliance in x, y of W1, 1/MPa; derived from the definition and, for the first term, from the closed form
# below ("derived here", confidence high): fibres at 0 and at 30 deg.
COMPLIANCE_XY = {
    0: [[8.3333333e-5, -3.3333333e-5, 0.0], [-3.3333333e-5, 1.6666667e-3, 0.0], [0.0, 0.0, 1.2820513e-3]],
    30: [
        [3.7892628e-4, 6.6907051e-5, -5.6985582e-4],
        [6.6907051e-5, 1.1705929e-3, -8.0135107e-4],
        [-5.6985582e-4, -8.0135107e-4, 1.6830128e-3],
    ],
}

moduli = st.floats(10.0, 30_000.0)
angles = st.floats(-720.0, 720.0)


@st.composite
def planes(draw):
    E_0, E_90, G = draw(moduli), draw(moduli), draw(moduli)
    return OrthotropicPlane(E_0, E_90, G, draw(st.floats(-0.95, 0.95)) * math.sqrt(E_0 / E_90))


@pytest.mark.parametrize("grain", COMPLIANCE_XY)
def test_compliance_in_xy(grain):
    np.testing.assert_allclose(W1.compliance_xy(grain), COMPLIANCE_XY[grain], rtol=5e-8, atol=1e-18)


@given(planes(), angles)
def test_compliance_along_x_has_the_closed_form(plane, grain):
    # Textbook off-axis modulus: cos^4/E_0 + sin^4/E_90 + (1/G - 2 nu/E_0) sin^2 cos^2 (Jones, Mechanics of Composite
    # Materials, eq. 2.97; number from memory). Without its last term but with G from it, this is Hankinson's form.
    c2, s2 = math.cos(math.radians(grain)) ** 2, math.sin(math.radians(grain)) ** 2
    wanted = c2**2 / plane.E_0 + s2**2 / plane.E_90 + (1 / plane.G - 2 * plane.nu_0_90 / plane.E_0) * s2 * c2
    assert plane.compliance_xy(grain)[0, 0] == pytest.approx(wanted, rel=1e-9, abs=1e-12)


@given(moduli, moduli, st.floats(0.0, 90.0))
def test_hankinson_where_the_shear_modulus_makes_it_so(E_0, E_90, grain):
    # With 1/G = 1/E_0 + 1/E_90 + 2 nu/E_0 the modulus at an angle is E_0 E_90 / (E_0 sin^2 + E_90 cos^2), Hankinson's
    # formula with exponent 2 (USDA Wood Handbook eq. 5-2, equation number confirmed second hand).
    nu = 0.3 * math.sqrt(E_0 / E_90)
    plane = OrthotropicPlane(E_0, E_90, 1 / (1 / E_0 + 1 / E_90 + 2 * nu / E_0), nu)
    s2 = math.sin(math.radians(grain)) ** 2
    assert 1 / plane.compliance_xy(grain)[0, 0] == pytest.approx(E_0 * E_90 / (E_0 * s2 + E_90 * (1 - s2)), rel=1e-9)


@given(planes(), angles)
def test_rotation_keeps_the_invariants(plane, grain):
    # Plane invariants of stiffness (Tsai and Pagano): Q_xx + Q_yy + 2 Q_xy and Q_ss - Q_xy do not change.
    Q, R = plane.reduced_stiffness(), plane.stiffness_xy(grain)
    scale = np.abs(Q).max()
    assert R[0, 0] + R[1, 1] + 2 * R[0, 1] == pytest.approx(Q[0, 0] + Q[1, 1] + 2 * Q[0, 1], rel=1e-9, abs=1e-9 * scale)
    assert R[2, 2] - R[0, 1] == pytest.approx(Q[2, 2] - Q[0, 1], rel=1e-9, abs=1e-9 * scale)
    assert np.linalg.eigvalsh(R).min() > 0
    np.testing.assert_allclose(R, R.T, atol=1e-9 * scale)
    np.testing.assert_allclose(plane.stiffness_xy(grain + 180.0), R, atol=1e-8 * scale)


@given(planes(), angles)
def test_stiffness_and_compliance_are_inverse(plane, grain):
    near = np.linalg.cond(plane.reduced_stiffness())
    np.testing.assert_allclose(
        plane.stiffness_xy(grain) @ plane.compliance_xy(grain), np.eye(3), atol=1e-13 * near + 1e-10
    )


@given(st.tuples(*[st.floats(-100, 100)] * 3), angles)
def test_rotated_stress_keeps_trace_and_determinant(stress, angle):
    a, b, t = stress_rotation(angle) @ stress
    assert a + b == pytest.approx(stress[0] + stress[1], abs=1e-9)
    assert a * b - t * t == pytest.approx(stress[0] * stress[1] - stress[2] ** 2, abs=1e-8)
    np.testing.assert_allclose(stress_rotation(-angle) @ (a, b, t), stress, atol=1e-9)


def test_signs_of_the_rotation():
    # Pulled along x, fibres rising at 30 deg: sigma sin^2 across, -sigma sin cos shear (resolved by hand).
    np.testing.assert_allclose(stress_rotation(30) @ [1, 0, 0], [0.75, 0.25, -math.sqrt(3) / 4], atol=1e-15)


def test_arrays_of_angles_give_one_matrix_each():
    grain = np.array([0.0, 30.0, -75.0])
    for one, many in (
        (stress_rotation, stress_rotation(grain)),
        (W1.stiffness_xy, W1.stiffness_xy(grain)),
        (W1.compliance_xy, W1.compliance_xy(grain)),
    ):
        assert many.shape == (3, 3, 3)
        assert one(30.0).shape == (3, 3)
        for k, angle in enumerate(grain):
            np.testing.assert_allclose(many[k], one(angle), rtol=1e-12, atol=1e-14)


def test_crack_stiffness_of_w1():
    # Sih, Paris and Irwin 1965, evaluated by hand for W1: 1/E_I = 9.03867e-4, 1/E_II = 2.02111e-4 per MPa; an
    # independent J-integral of a centre crack agrees to 0.2 %.
    assert W1.crack_stiffness() == pytest.approx((1 / 9.03867e-4, 1 / 2.02111e-4), rel=1e-5)


def test_crack_stiffness_of_an_isotropic_sheet_is_its_modulus():
    E, nu = 1000.0, 0.3
    assert OrthotropicPlane(E, E, E / (2 * (1 + nu)), nu).crack_stiffness() == pytest.approx((E, E))


@pytest.mark.parametrize(
    ("constants", "key", "match"),
    [
        ((0.0, 600, 780, 0.4), "E_0", "E_0 is 0 MPa; give a value above 0"),
        ((12_000, -600, 780, 0.4), "E_90", "E_90 is -600 MPa"),
        ((12_000, 600, 0, 0.4), "G", "G is 0 MPa"),
        ((12_000, 600, 780, 4.5), "nu_0_90", r"between -4\.47 and 4\.47 \(\|nu_0_90\| < sqrt\(E_0/E_90\)\)"),
        ((600, 12_000, 780, -0.4), "nu_0_90", "exchanged"),
        ((float("nan"), 600, 780, 0.4), "E_0", "finite"),
        ((12_000, 600, float("inf"), 0.4), "G", "finite"),
        ((12_000, 600, 780, float("nan")), "nu_0_90", "finite"),
    ],
)
def test_refusals(constants, key, match):
    with pytest.raises(InputError, match=match) as caught:
        OrthotropicPlane(*constants)
    assert caught.value.key == f"wood.elastic.{key}"
