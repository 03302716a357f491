"""The record: journals."""
