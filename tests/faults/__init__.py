"""Faults on purpose: each test prints its seed, its counts and its verdict, and has a control that must fail.

Short forms run with all other tests. The long ones: see the variable at the top of each file.
"""
