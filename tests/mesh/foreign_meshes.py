"""Meshes as others make them, written by gmsh itself, for tests: the drawbar of meshes/, a plate with a hole."""

import contextlib

import gmsh

from fesolve.part.model import edge_names

DRAWBAR = ((40, 0), (580, 0), (620, 0), (640, 0), (640, 80), (350, 80), (290, 80), (0, 80), (0, 25), (34, 25), (40, 19))


PLANK = ((0, 0), (190, 0), (230, 0), (420, 0), (420, 140), (330, 140), (310, 140), (0, 140))


@contextlib.contextmanager
def session():
    """An empty gmsh model, quiet."""
    gmsh.initialize(["fesolve tests"], readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        yield gmsh.model
    finally:
        gmsh.finalize()


def write(path, *, version=4.1, order=1, binary=False, save_all=False):
    """Mesh what is drawn and write it."""
    gmsh.model.occ.synchronize()
    gmsh.model.mesh.generate(gmsh.model.getDimension())
    gmsh.model.mesh.setOrder(order)
    for name, value in (("MshFileVersion", version), ("Binary", binary), ("SaveAll", save_all)):
        gmsh.option.setNumber(f"Mesh.{name}", value)
    gmsh.write(str(path))


def drawbar(path, *, size=12.0, fine=1.2, scale=1.0, quads=False, **kept):
    """The drawbar of meshes/drawbar.toml, drawn in gmsh: its edges named, finer where it splits."""
    with session() as model:
        occ = model.occ
        places = [occ.addPoint(x * scale, y * scale, 0) for x, y in DRAWBAR]
        ends = list(zip(places, places[1:] + places[:1], strict=True))
        lines = [occ.addLine(*pair) for pair in ends]
        occ.remove([(1, lines[9])])
        middle = occ.addPoint(34 * scale, 19 * scale, 0)
        lines[9] = occ.addCircleArc(places[9], middle, places[10])
        face = occ.addPlaneSurface([occ.addCurveLoop(lines)])
        occ.remove([(0, middle)])
        occ.synchronize()
        model.addPhysicalGroup(2, [face], name="bar")
        for name, number in (("post", 1), ("gate leaf", 5), ("keeper", 8)):
            model.addPhysicalGroup(1, [lines[number]], name=name)
        model.addPhysicalGroup(0, [places[4]], name="end")
        _finer(model, [lines[9]], [lines[1], lines[5], lines[8]], size * scale, fine * scale)
        gmsh.option.setNumber("Mesh.RecombineAll", quads)
        write(path, **kept)


def _finer(model, first, second, size, fine):
    """Sizes that grow from some lines on, and less so from others."""
    field, found = model.mesh.field, []
    for curves, least in ((first, fine), (second, 3 * fine)):
        away, law = field.add("Distance"), field.add("Threshold")
        field.setNumbers(away, "CurvesList", curves)
        field.setNumber(away, "Sampling", 60)
        law_keys = {"InField": away, "SizeMin": least, "SizeMax": size, "DistMin": 2 * least, "DistMax": 6 * size}
        for name, value in law_keys.items():
            field.setNumber(law, name, value)
        found.append(law)
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", found)
    field.setAsBackgroundMesh(least)
    for name in ("ExtendFromBoundary", "FromPoints", "FromCurvature"):
        gmsh.option.setNumber(f"Mesh.MeshSize{name}", 0)


def pile_stop(path, *, size=8.0, fine=1.0, **kept):
    """The plank of meshes/pile_stop.toml, drawn in gmsh; finer round the hole and where it is pushed."""
    with session() as model:
        occ = model.occ
        places = [occ.addPoint(x, y, 0) for x, y in PLANK]
        lines = [occ.addLine(*pair) for pair in zip(places, places[1:] + places[:1], strict=True)]
        hole = occ.addCircle(70, 70, 0, 12.5)
        face = occ.addPlaneSurface([occ.addCurveLoop(lines), occ.addCurveLoop([hole])])
        occ.synchronize()
        model.addPhysicalGroup(2, [face], name="plank")
        for name, line in (("pivot", hole), ("cross-beam", lines[1]), ("log", lines[5])):
            model.addPhysicalGroup(1, [line], name=name)
        _finer(model, [hole], [lines[1], lines[5]], size, fine)
        write(path, **kept)


def plate(path, *, size=4.0, curve_size=None, quads=False, **kept):
    """A plate of 60 mm by 40 mm with a hole of 12.5 mm radius in its middle, its right third a region of its own."""
    with session() as model:
        occ = model.occ
        body, cheek = occ.addRectangle(0, 0, 0, 45, 40), occ.addRectangle(45, 0, 0, 15, 40)
        hole = occ.addDisk(25, 20, 0, 12.5, 12.5)
        occ.cut([(2, body)], [(2, hole)])
        occ.fragment([(2, body)], [(2, cheek)])
        occ.synchronize()
        model.addPhysicalGroup(2, [body], name="web")
        model.addPhysicalGroup(2, [cheek], name="cheek")
        groups = {"hole": [], "left": [], "right": [], "top": [], "joint": []}
        for _, tag in model.getEntities(1):
            x, y = (model.getValue(1, tag, [sum(model.getParametrizationBounds(1, tag))[0] / 2]))[:2]
            name = {(0, 20): "left", (60, 20): "right", (45, 20): "joint"}.get((round(x), round(y)))
            name = "top" if round(y) == 40 else name or ("" if round(y) == 0 else "hole")
            groups.setdefault(name, []).append(tag)
        for name in ("hole", "left", "right", "top", "joint"):
            model.addPhysicalGroup(1, groups[name], name=name)
        gmsh.option.setNumber("Mesh.MeshSizeMax", size)
        gmsh.option.setNumber("Mesh.RecombineAll", quads)
        gmsh.option.setNumber("Mesh.MeshSizeFromCurvature", 24)
        write(path, **kept)


def edges_of(corners):
    """The corners at both ends of each edge, by its name."""
    return dict(zip(edge_names(corners), zip(corners, corners[1:] + corners[:1], strict=True), strict=True))
