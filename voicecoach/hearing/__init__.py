"""Samples to words: one small file for each recognizer, and the language model built from a procedure."""
