"""What `./tagstrip` does before the program can run: find what the machine lacks, make `.venv/`, hand over.

Standard library only, and imported by nobody: the packages of `requirements.lock` may not be there yet.
"""
