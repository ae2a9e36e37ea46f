from reports.content.compile import Content, WorkedOut, compile_object
from reports.content.condition import FAMILIES
from reports.content.faces import Dates, FacePart, State

__all__ = ["FAMILIES", "Content", "Dates", "FacePart", "State", "WorkedOut", "compile_object"]
