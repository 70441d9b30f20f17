"""Sheets of paper for the shop: drawings of parts, assembly, template, lathe cards."""
