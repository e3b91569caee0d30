"""What the answers of every room have in common: reasons and cautions. Pure; knows no HTTP."""
