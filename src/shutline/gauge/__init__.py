"""Pictures, sound and instruments in; figures out, each with its uncertainty, and a plain no where none can be had."""
