"""The plane stiffness of wood: along the grain (0), across it (90), and shear.

Index 0 is along the grain and 90 across it. For a flat-sawn drawn face 90 is the tangential
direction (E_90 = E_T, G = G_LT, nu_0_90 = nu_LT); for a quarter-sawn face it is the radial one.
Stress and strain are ordered (0, 90, shear) in grain axes and (x, y, xy) in the part's, with
engineering shear strain. Angles are in degrees, counter-clockwise from +x to the fibres.
"""
# to be completed by the wood room: OrthotropicPlane, reduced_stiffness, compliance, stress_rotation
