"""Many recordings at once: found in a folder, estimated, and worked through by several processes or machines.

Every job is content-addressed: the same session, recordings, weights, settings and versions give the same folder, so that a fleet can be
started again at any time and a lost worker loses nothing. All workers must see the recordings and the folder for results under the same paths.
"""
