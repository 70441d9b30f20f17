"""Solids of revolution written as STEP by Open CASCADE: the one module that imports it."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
from OCP.gp import gp_Ax1, gp_Ax2, gp_Circ, gp_Dir, gp_Pnt
from OCP.Interface import Interface_Static
from OCP.Message import Message, Message_Gravity
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.TopoDS import TopoDS_Shape, TopoDS_Vertex
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from optitip.export.parts.arcs import Point, Segment

SCHEMA = "AP214IS"
_PER_METRE = 1e3


def write_solids(bodies: Mapping[str, Sequence[Segment]], *, path: Path) -> None:
    """Write each closed half section as a named solid in millimetres; RuntimeError where none can be."""
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    for name, profile in bodies.items():
        label = shapes.AddShape(_solid(profile), False)
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(name))
    writer = STEPCAFControl_Writer()
    Interface_Static.SetCVal_s("write.step.schema", SCHEMA)
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer.SetNameMode(True)
    if not writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs):
        raise RuntimeError("Open CASCADE took none of the solids")
    writer.Write(str(path))


def _solid(profile: Sequence[Segment]) -> TopoDS_Shape:
    """Return the closed half section turned about z, its points (z, r) in the half plane of x and z."""
    vertices = [BRepBuilderAPI_MakeVertex(_point(one.start)).Vertex() for one in profile]
    wire = BRepBuilderAPI_MakeWire()
    for number, one in enumerate(profile):
        ends = vertices[number], vertices[(number + 1) % len(profile)]
        edge = BRepBuilderAPI_MakeEdge(*ends) if one.bulge == 0.0 else _arc(one, ends)
        wire.Add(edge.Edge())
    face = BRepBuilderAPI_MakeFace(wire.Wire(), True).Face()
    axis = gp_Ax1(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(0.0, 0.0, 1.0))
    return BRepPrimAPI_MakeRevol(face, axis).Shape()


def _arc(one: Segment, ends: tuple[TopoDS_Vertex, TopoDS_Vertex]) -> BRepBuilderAPI_MakeEdge:
    # a turn to the left in (z, r) goes round +y
    normal = gp_Dir(0.0, 1.0 if one.bulge > 0.0 else -1.0, 0.0)
    circle = gp_Circ(gp_Ax2(_point(one.centre), normal), one.radius * _PER_METRE)
    return BRepBuilderAPI_MakeEdge(circle, *ends)


def _point(point: Point) -> gp_Pnt:
    return gp_Pnt(point[1] * _PER_METRE, 0.0, point[0] * _PER_METRE)
