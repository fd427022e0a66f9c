"""The command line: parse, call one function a command, print, set the exit code."""
