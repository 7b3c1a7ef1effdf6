"""Sheets on paper: what a sheet says, and how it is written as a page for browsers or as PDF."""
