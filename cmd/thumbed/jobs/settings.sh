# What stands where. Edit this where it stands elsewhere on the machines that
# compute; all of them must see these files and this folder.
thumbed={{word .Program}}
source={{word .Source}}
results={{word .Results}}
parts={{.Parts}}
