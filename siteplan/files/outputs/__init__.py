"""How are results written to an output folder, without touching the gardener's own files?"""
