"""Runthrough: from the film of a practised neurological check-off to a checklist-linked timeline."""
