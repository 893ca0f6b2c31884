[version] 2.1
# MHz S MA
[NUMBER OF PORTS]   2
[Two-Port  Data Order] 21_12
[Begin Information]
[Manufacturer] invented
1 2 3 free text here
[End Information]
[Number of Frequencies] 2
[Network Data]
1.5 0.1 90 0.01 0
 0.001 -90 0.1 180
2.5 0.01 0 0.1 90 0.1 180 0.01 -90
