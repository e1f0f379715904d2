"""The XML elements of which MusicXML is written."""

from __future__ import annotations

from lxml import etree

Element = etree._Element
sub_element = etree.SubElement
"""Adds a child at the end of an element and returns it."""
