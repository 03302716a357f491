"""Words to samples."""
