"""Prove: what will happen to the metal?"""
