"""Formulas of timber codes for notches, pins and bearings, as plain functions: mm, N, MPa.

The codes' own letters: b thickness, d or h depth, d_n or h_ef what a notch leaves of it, e and h_e distances.
"""

from __future__ import annotations

from math import sqrt

K_N = 5.0  # EN 1995-1-1, 6.5.2: solid timber; 4.5 for laminated veneer lumber, 6.5 for glued laminated timber
C_B_ADDED, C_B_LONGEST, C_B_FROM_END = 9.525, 152.4, 76.2  # mm: 3/8, 6 and 3 in., NDS 3.10.4
EN_ADDED = 30.0  # mm, EN 1995-1-1/A1, 6.1.5
FAR = 5.0  # depths from the member's end, NDS 3.4.3.3


def nds_notch_tension(f_v: float, b: float, d: float, d_n: float) -> float:
    """Shear at an end notch on the side that is stretched, ``V = (2/3) F_v b d_n (d_n/d)^2``, N.

    Parameters
    ----------
    f_v : float
        Shear strength along the grain, MPa.
    b, d, d_n : float
        Thickness, depth, and depth left over the notch, mm.

    References
    ----------
    NDS 2018, 3.4.3.2 (from memory); the square since 2001 (read).

    Examples
    --------
    A 2 x 10 in. joist notched by 3 in., F_v = 185 psi, in lbf and inches:

    >>> round(nds_notch_tension(185, 1.5, 9.25, 6.25), 1)
    527.9
    """
    return 2 / 3 * f_v * b * d_n * (d_n / d) ** 2


def nds_notch_compression(f_v: float, b: float, d: float, d_n: float, e: float) -> float:
    """Shear at an end notch on the side that is pressed, ``V = (2/3) F_v b (d - e (d - d_n)/d_n)``, N.

    Parameters
    ----------
    f_v, b, d, d_n : float
        As for `nds_notch_tension`.
    e : float
        How far the notch reaches beyond the inner edge of the support, mm; more than d_n counts as d_n.

    References
    ----------
    NDS 2018, 3.4.3.2 (from memory).

    Examples
    --------
    With e = 0 the whole depth counts, from e = d_n on what is left alone:

    >>> [round(nds_notch_compression(1.0, 30, 100, 80, e)) for e in (0, 40, 80, 200)]
    [2000, 1800, 1600, 1600]
    """
    e = min(max(e, 0.0), d_n)
    return 2 / 3 * f_v * b * (d - (d - d_n) / d_n * e)


def notch_factor(h: float, h_ef: float, x: float, i: float = 0.0, k_n: float = K_N) -> float:
    """The factor k_v on shear strength at an end notch on the side of its support.

    ``k_v = min(1, k_n (1 + 1.1 i^1.5/sqrt(h))/(sqrt(h) (sqrt(a (1 - a)) + 0.8 (x/h) sqrt(1/a - a^2))))``, a = h_ef/h.

    Parameters
    ----------
    h, h_ef, x : float
        Depth, depth left, and distance from the line of the reaction to the notch's corner, mm.
    i : float
        Run for a rise of 1 of the notch's face; 0: square.
    k_n : float
        5 for solid timber, 4.5 for laminated veneer lumber, 6.5 for glued laminated timber.

    References
    ----------
    EN 1995-1-1:2004, 6.5.2 (read in LVL Handbook Europe, 2025, eq. 4.47).

    Examples
    --------
    TRADA design example F6 (1994) prints 0.630:

    >>> round(notch_factor(245, 182, 24), 3)
    0.63
    """
    a = h_ef / h
    bottom = sqrt(h) * (sqrt(a * (1 - a)) + 0.8 * x / h * sqrt(1 / a - a**2))
    return min(1.0, k_n * (1 + 1.1 * i**1.5 / sqrt(h)) / bottom) if bottom > 0 else 1.0


def en_notch(f_v: float, b: float, h_ef: float, k_v: float) -> float:
    """Shear at an end notch, ``V = (2/3) k_v f_v b h_ef``, N; k_v = 1 where the support presses on the other side.

    Examples
    --------
    >>> round(en_notch(1.0, 47, 182, 0.630))
    3593
    """
    return 2 / 3 * k_v * f_v * b * h_ef


def energy_notch(b: float, h: float, h_ef: float, x: float, G_c: float, E: float, G: float) -> float:
    """Shear at which an end notch splits on from its corner, by the energy that two beams set free, N.

    ``V = b h_ef sqrt(G_c/h)/(sqrt(0.6 (a - a^2)/G) + (x/h) sqrt(6 (1/a - a^2)/E))``, a = h_ef/h.

    Parameters
    ----------
    b, h, h_ef, x : float
        As for `notch_factor`, mm.
    G_c : float
        Fracture energy, N/mm.
    E, G : float
        Moduli along the grain and in shear, MPa.

    References
    ----------
    P. J. Gustafsson, A study of strength of notched beams, CIB-W18A/21-10-1, 1988 (from memory).

    Examples
    --------
    >>> round(energy_notch(b=100, h=300, h_ef=180, x=120, G_c=0.3, E=11e3, G=690))
    22655
    """
    a = h_ef / h
    give = sqrt(0.6 * (a - a**2) / G) + x / h * sqrt(6 * (1 / a - a**2) / E)
    return b * h_ef * sqrt(G_c / h) / give


def nds_joint_shear(f_v: float, b: float, d: float, d_e: float, from_end: float) -> float:
    """Shear of a member at a joint whose pin pushes across it, ``V = (2/3) F_v b d_e (d_e/d)^2``, N.

    Parameters
    ----------
    f_v, b, d : float
        As for `nds_notch_tension`.
    d_e : float
        From the pin's centre to the edge that it pushes towards, mm.
    from_end : float
        From the pin to the member's end, mm; from 5 d on the square is left out.

    References
    ----------
    NDS 2018, 3.4.3.3 (from memory).

    Examples
    --------
    >>> round(nds_joint_shear(7.8, 38, 140, 70, 70)), round(nds_joint_shear(7.8, 38, 140, 70, 800))
    (3458, 13832)
    """
    square = (d_e / d) ** 2 if from_end < FAR * d else 1.0
    return 2 / 3 * f_v * b * d_e * square


def en_joint_splitting(b: float, h: float, h_e: float) -> float:
    """Characteristic shear at which a joint splits softwood, ``V = 14 b sqrt(h_e/(1 - h_e/h))``, N.

    Parameters
    ----------
    b, h : float
        Thickness and depth, mm.
    h_e : float
        From the edge that is pushed towards to the pin furthest from it, mm.

    References
    ----------
    EN 1995-1-1:2004, 8.1.4 with w = 1 (from memory).

    Examples
    --------
    >>> round(en_joint_splitting(38, 140, 70))
    6295
    """
    return 14.0 * b * sqrt(h_e / (1 - h_e / h))


def tear_out(f_v: float, t: float, e: float) -> float:
    """Force along the grain at which a pin shears a plug out of the end, ``F = F_v t e``, N.

    Two planes with half of F_v as their mean, since shear falls off towards the end.

    References
    ----------
    NDS 2018, appendix E (from memory).

    Examples
    --------
    >>> round(tear_out(7.8, 38, 70))
    20748
    """
    return f_v * t * e


def bearing_area_factor(length: float, from_end: float) -> float:
    """The NDS' C_b for a short bearing away from the end, ``(l_b + 9.525)/l_b`` with l_b in mm; else 1.

    References
    ----------
    NDS 2018, 3.10.4: that 3/8 in. are added (read); below 6 in. and from 3 in. off the end (from memory).

    Examples
    --------
    The NDS' table has 1.75, 1.38, 1.25, 1.19, 1.13, 1.10 for 0.5, 1, 1.5, 2, 3, 4 in. (from memory):

    >>> [float(f"{bearing_area_factor(25.4 * inches, 100):.3f}") for inches in (0.5, 1, 1.5, 2, 3, 4)]
    [1.75, 1.375, 1.25, 1.188, 1.125, 1.094]
    """
    short = length < C_B_LONGEST and from_end >= C_B_FROM_END
    return (length + C_B_ADDED) / length if short else 1.0


def en_contact_length(length: float, from_ends: tuple[float, float], to_next: tuple[float, float]) -> float:
    """Effective length of a bearing across the grain: up to 30 mm more on each side, mm.

    Each side takes no more than the wood beyond it, the bearing's own length, and half the way to the next bearing.

    References
    ----------
    EN 1995-1-1:2004/A1:2008, 6.1.5 (from memory).

    Examples
    --------
    >>> en_contact_length(40, (0.0, 500.0), (1e9, 100.0)), en_contact_length(20, (500.0, 500.0), (30.0, 1e9))
    (70.0, 55.0)
    """
    sides = zip(from_ends, to_next, strict=True)
    return length + sum(min(EN_ADDED, length, max(end, 0.0), max(gap, 0.0) / 2) for end, gap in sides)
