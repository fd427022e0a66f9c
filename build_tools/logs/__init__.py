"""Logs, drive plans and case links."""
