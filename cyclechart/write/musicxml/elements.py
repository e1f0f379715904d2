"""The XML elements that MusicXML is written with."""

from __future__ import annotations

from lxml import etree

Element = etree._Element
sub_element = etree.SubElement
"""Add an element at the end of another."""
