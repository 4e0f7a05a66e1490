"""Layouts from positions: home runs, submanifolds, trunks; where the manifold should stand."""

from supplycalc.questions.layout.study import LayoutStudy, layout

__all__ = ["LayoutStudy", "layout"]
