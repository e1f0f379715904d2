"""Phrasing: what players add to written notes. How loud each is by its place in the phrase and in
the cycle, which go on without an attack, which get a vibrato, which grow while they are held.

What is written comes first: dynamics, hairpins, accents and articulation keep their meaning, and no
time and no pitch is moved.
"""
