"""The settings review as it is kept: made again for what was written about, screened as a whole.

`stating` writes what the review of today says of some devices; `screened` lays on what only the
whole fleet can say; `weighing` puts the list in order; `changes` reads off the audit chain which
devices something was written about; `catching_up` does all of it, for a few devices or for all.
What is kept is never a fact: made again from the records it comes out the same.
"""
