"""The tools that read, judge and publish the knowledge in symptoms/.

Rooms, lower never importing higher: data, model, reasoning, then lint and output
(which do not know each other), with the command line and scaffold on top.
"""
